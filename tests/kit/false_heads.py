"""What is no head of a Ray cluster, and seems to be one."""

import socket
import threading
from contextlib import contextmanager, suppress


@contextmanager
def false_head():
    """What greets as a head does, by settings of HTTP/2, and no more: its address, and how it does, to be changed."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        kept, does = [], ["greets"]

        def serve():
            with suppress(OSError):
                while True:
                    kept.append(listener.accept()[0])
                    if does[-1] == "greets":
                        kept[-1].sendall(bytes((0, 0, 0, 4, 0, 0, 0, 0, 0)))
                    elif does[-1] == "closes":
                        kept[-1].close()

        serving = threading.Thread(target=serve, daemon=True)
        serving.start()
        try:
            yield f"127.0.0.1:{listener.getsockname()[1]}", does
        finally:
            listener.shutdown(socket.SHUT_RDWR)
            serving.join()
            for connection in kept:
                connection.close()
