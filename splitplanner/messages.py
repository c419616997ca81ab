"""Messages between two processes: any values, with their arrays sent as they lie in memory.

Objects that both sides have, such as the part, are not sent but named.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Sequence
from typing import IO, Any

import numpy as np


def send(stream: IO[bytes], message: object, shared: Sequence[object] = ()) -> None:
    """Write a message.

    Parameters
    ----------
    stream : binary file
    message : object
        Anything that can be pickled.
    shared : sequence of objects
        What the other side has itself, in the same order as it gives to `receive`.

    Raises
    ------
    OSError
        If nobody reads any more.
    """
    body, buffers = _taken_apart(message, shared)
    sizes = [(buffer.nbytes, buffer.readonly) for buffer in buffers]
    pickle.dump((len(body), sizes), stream)
    for piece in (body, *buffers):
        stream.write(piece)
    stream.flush()


def receive(stream: IO[bytes], shared: Sequence[object] = ()) -> Any:
    """Read a message; arrays that were read-only are so again.

    Raises
    ------
    EOFError
        If there are no more.
    """
    length, sizes = pickle.load(stream)
    body = _read(stream, length)
    buffers = [
        view.toreadonly() if readonly else view
        for view, readonly in ((_read(stream, size), readonly) for size, readonly in sizes)
    ]
    return _put_together(body, buffers, shared)


def as_received(message: object, shared: Sequence[object], known: Sequence[object]) -> Any:
    """Return a message as another process gets it, to which `known` are what `shared` are here.

    Arrays are not copied.
    """
    return _put_together(*_taken_apart(message, shared), known)


def _taken_apart(message: object, shared: Sequence[object]) -> tuple[memoryview, list[memoryview]]:
    buffers: list[pickle.PickleBuffer] = []
    body = io.BytesIO()
    pickler = _Pickler(body, 5, buffer_callback=buffers.append)
    pickler.places = {id(one): place for place, one in enumerate(shared)}
    pickler.dump(message)
    return body.getbuffer(), [buffer.raw() for buffer in buffers]


def _put_together(body: memoryview, buffers: Sequence[memoryview], shared: Sequence[object]) -> Any:
    unpickler = _Unpickler(io.BytesIO(body), buffers=buffers)
    unpickler.shared = shared
    return unpickler.load()


def _read(stream: IO[bytes], size: int) -> memoryview:
    # Not a bytearray, which would be filled with zeros first.
    view = np.empty(size, dtype=np.uint8).data
    done = 0
    while done < size:
        # Some streams give what they have.
        got = stream.readinto(view[done:])  # type: ignore[attr-defined]
        if not got:
            raise EOFError("a message ends in its middle")
        done += got
    return view


class _Pickler(pickle.Pickler):
    places: dict[int, int]

    def persistent_id(self, obj: Any) -> int | None:
        return self.places.get(id(obj))


class _Unpickler(pickle.Unpickler):
    shared: Sequence[object]

    def persistent_load(self, pid: int) -> object:
        return self.shared[pid]
