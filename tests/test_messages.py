"""Messages between processes: what is sent comes out, and what both sides have is not sent."""

import io

import numpy as np
import pytest

from splitplanner.messages import as_received, receive, send
from splitplanner.solid import Plane, Solid


def through(message, shared=(), known=()):
    stream = io.BytesIO()
    send(stream, message, shared)
    stream.seek(0)
    return receive(stream, known), len(stream.getvalue())


def test_arrays_come_through_with_what_may_be_written_to():
    still, moving = np.arange(1000.0), np.arange(6, dtype=np.int64).reshape(2, 3)
    still.setflags(write=False)
    message = {
        "still": still,
        "moving": moving,
        "none": np.empty((0, 3)),
        "every other": still[::2],
    }
    found, _ = through(message)
    for name, array in message.items():
        np.testing.assert_array_equal(found[name], array)
        assert found[name].dtype == array.dtype
    assert not found["still"].flags.writeable
    assert found["moving"].flags.writeable


def test_what_both_sides_have_is_only_named():
    here, there = Solid.box((1, 2, 3)), Solid.box((1, 2, 3))
    big = np.zeros(100_000)
    found, size = through([here, big, here, (big, "text")], [here, big], [there, "the other's"])
    assert found[0] is found[2] is there
    assert found[1] == found[3][0] == "the other's"
    assert size < 1000


def test_several_messages_in_a_row_and_then_the_end():
    stream = io.BytesIO()
    for number in range(3):
        send(stream, (number, np.full(5, number)))
    stream.seek(0)
    for number in range(3):
        assert receive(stream)[1].tolist() == [number] * 5
    with pytest.raises(EOFError):
        receive(stream)


def test_a_message_that_ends_in_its_middle_is_none():
    stream = io.BytesIO()
    send(stream, np.zeros(1000))
    cut = io.BytesIO(stream.getvalue()[:-10])
    with pytest.raises(EOFError):
        receive(cut)


def test_as_received_is_what_the_other_side_gets_without_copies():
    part = Solid.box((40, 20, 10)).difference(Solid.box((10, 10, 20), (5, 5, -5)))
    below, _ = part.split(Plane((1.0, 0.0, 0.0), 22.0))
    marks = np.arange(10)
    there, _ = through((part, below, marks), [part], [part])
    here = as_received((part, below, marks), [part], [part])
    assert here[0] is there[0] is part
    assert here[1].fingerprint == there[1].fingerprint == below.fingerprint
    assert here[1].volume == there[1].volume == below.volume
    assert np.shares_memory(here[2], marks)
