"""Faults: what they say, that they travel between processes whole, and who gives them a heading."""

import pickle
from pathlib import Path

import pytest

from optimizer.analysis.printed_pieces import KeptPiecesError
from optimizer.project.faults import Fault, headed, writing
from optimizer.project.loading import ProjectError, load_project
from optimizer.records.files import RecordError


def kinds(root):
    """A class and all that are made from it."""
    return {root}.union(*(kinds(each) for each in root.__subclasses__()))


def broken_project(tmp_path):
    """The fault of a project file with two problems."""
    path = tmp_path / "p.toml"
    path.write_text("colour = 1\nshape = 2\n")
    with pytest.raises(ProjectError) as caught:
        load_project(path)
    return caught.value


def test_a_fault_is_its_sentences():
    fault = Fault("one thing", "another", heading="to mend")
    assert (fault.problems, str(fault), fault.heading, fault.exit_code) == (
        ["one thing", "another"], "one thing\nanother", "to mend", 2,
    )  # fmt: skip


def test_every_fault_travels_whole(tmp_path):
    project = broken_project(tmp_path)
    with pytest.raises(Fault) as caught, headed("cannot show this"):
        raise RecordError("there is no file")
    for fault in (project, caught.value, KeptPiecesError("one", "two")):
        again = pickle.loads(pickle.dumps(fault))
        assert type(again) is type(fault)
        assert (str(again), again.problems, again.heading) == (str(fault), fault.problems, fault.heading)
    assert pickle.loads(pickle.dumps(project)).source == project.source == str(tmp_path / "p.toml")
    assert len(project.problems) > 2
    assert project.heading == f"{project.source}: {len(project.problems)} problems to mend"


def test_a_heading_is_given_once():
    with pytest.raises(Fault) as caught, headed("outer"), headed("inner"):
        raise Fault("said")
    assert caught.value.heading == "inner"
    with pytest.raises(Fault) as caught, headed("outer"):
        raise Fault("said", heading="own")
    assert caught.value.heading == "own"


def test_what_the_system_refuses_is_a_fault(tmp_path):
    with pytest.raises(Fault, match="No such file") as caught, headed("cannot read this"):
        (tmp_path / "none").read_text()
    assert caught.value.heading == "cannot read this"
    place = tmp_path / "none" / "file"
    with pytest.raises(Fault) as caught, writing(place):
        place.write_text("")
    assert (caught.value.problems, caught.value.heading) == ([f"{place}: No such file or directory"], "cannot write")


def test_a_reader_that_went_away_is_none():
    with pytest.raises(BrokenPipeError), headed("cannot show this"):
        raise BrokenPipeError


def test_what_a_user_meets_is_of_this_tree():
    # Outside it stay signals that never reach a user by themselves: of workers, of HTTP, of one line of a chart, of
    # what the CAD kernel cannot make, and of readings too few for a figure.
    import optimizer.commands.cli
    import optimizer.service.app

    own = {each for each in kinds(Exception) if each.__module__.startswith("optimizer.")}
    outside = {each.__name__ for each in own - kinds(Fault)}
    assert outside <= {"LostError", "RefusedError", "ChartError", "KernelError", "NotEnough"}
    assert Path(optimizer.commands.cli.__file__).is_file()
