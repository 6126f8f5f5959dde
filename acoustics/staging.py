"""Compiled functions whose traces can be kept between runs.

Tracing and lowering a chart's slopes takes longer than loading what was compiled of them. A staged function therefore
asks a store, if one is open, for its lowered form (StableHLO) before it traces anything. The store is given from
outside: this package opens no files.
"""

import pickle
from collections.abc import Callable
from functools import partial, wraps
from inspect import unwrap
from typing import Any, Protocol, TypeVar

import jax
import numpy as np
from jax import export

Fn = TypeVar("Fn", bound=Callable[..., Any])


class Store(Protocol):
    """Where lowered functions are kept: `get` gives what `put` was given under a name, in another run too, or None."""

    def get(self, name: str) -> bytes | None:
        """What is kept under a name."""

    def put(self, name: str, lowered: bytes) -> None:
        """Keep something under a name."""


_open: list[Store] = []


def open_store(store: Store | None) -> None:
    """Let staged functions use a store from now on; None closes it."""
    _open[:] = [] if store is None else [store]


def staged(static: tuple[str, ...] = (), closes_over: str = "") -> Callable[[Fn], Fn]:
    """Compile a function of pytrees of arrays, as `jax.jit` does, and keep its trace where a store is open.

    static : names of arguments that are no arrays; to be given by keyword
    closes_over : mark of whatever else the function's values depend on, for functions that are no module's own

    What cannot be exported is compiled and nothing more.
    """

    def decorate(function: Fn) -> Fn:
        compiled = jax.jit(function, static_argnames=static)
        loaded: dict[Any, tuple[Callable[..., list[Any]], Any] | None] = {}
        own = f"{_place_of(function)} {closes_over}"

        @wraps(function)
        def call(*arguments: Any, **chosen: Any) -> Any:
            leaves, tree = jax.tree.flatten(arguments)
            if not _open or any(isinstance(leaf, jax.core.Tracer) for leaf in leaves):
                return compiled(*arguments, **chosen)
            leaves = [leaf if isinstance(leaf, (np.ndarray, jax.Array)) else np.asarray(leaf) for leaf in leaves]
            kind = (tree, tuple((leaf.shape, leaf.dtype) for leaf in leaves), tuple(sorted(chosen.items())))
            if kind not in loaded:
                loaded[kind] = _loaded(_open[0], f"{own} {kind}", partial(function, **chosen), tree, leaves)
            found = loaded[kind]
            if found is None:
                return compiled(*arguments, **chosen)
            return jax.tree.unflatten(found[1], found[0](*leaves))

        return call  # type: ignore[return-value]

    return decorate


def _place_of(function: Callable[..., Any]) -> str:
    """Name and place in the source of a function: no two have the same."""
    plain = unwrap(function)
    return f"{function.__module__}.{function.__qualname__} {list(plain.__code__.co_positions())}"


def _loaded(
    store: Store, name: str, function: Callable[..., Any], tree: Any, leaves: list[Any]
) -> tuple[Callable[..., list[Any]], Any] | None:
    """A function of flat leaves, compiled from the store's or a new trace, and the tree of its result; None where it
    cannot be kept: what the backend does not export, or a function that is wrong and will say so itself."""
    try:
        lowered, result = _lowered(store, name, function, tree, leaves)
        flat = jax.jit(lowered.call)
        flat(*leaves)
    except Exception:
        return None
    return flat, result


def _lowered(
    store: Store, name: str, function: Callable[..., Any], tree: Any, leaves: list[Any]
) -> tuple[export.Exported, Any]:
    """A function of flat leaves, from the store or lowered now, and the tree of its result."""
    kept = store.get(name)
    if kept is not None:
        try:
            code, result = pickle.loads(kept)
            return export.deserialize(bytearray(code)), result
        except Exception:  # whatever a broken file makes of unpickling: it is written anew
            pass
    trees = []

    def flat(*given: Any) -> list[Any]:
        values, result = jax.tree.flatten(function(*jax.tree.unflatten(tree, given)))
        trees.append(result)
        return values

    shapes = [jax.ShapeDtypeStruct(leaf.shape, leaf.dtype) for leaf in leaves]  # type: ignore[no-untyped-call]
    lowered = export.export(jax.jit(flat))(*shapes)
    store.put(name, pickle.dumps((bytes(lowered.serialize()), trees[-1])))
    return lowered, trees[-1]
