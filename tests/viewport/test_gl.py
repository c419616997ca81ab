"""Whether the GL works is tried where it can do no harm."""

import os

import pytest

from splitplanner.viewport import gl, gl_works


def test_where_it_works_nothing_is_said():
    assert gl_works() == ""


def test_where_it_does_not_a_sentence_tells_what_to_do(monkeypatch):
    # An X server that is not there: VTK gives up, and with it the child.
    monkeypatch.setenv(gl.GL_CHOICE, "vtkXOpenGLRenderWindow")
    monkeypatch.setenv("DISPLAY", ":987")
    said = gl_works()
    assert "no OpenGL works here" in said
    assert "libegl1, libgl1 and libgl1-mesa-dri" in said
    assert said.endswith(".")
    assert os.environ[gl.GL_CHOICE] == "vtkXOpenGLRenderWindow"


def test_another_kind_is_chosen_where_the_usual_one_fails(monkeypatch):
    monkeypatch.delenv(gl.GL_CHOICE)
    tried = []

    def draws(choice):
        tried.append(choice)
        return choice == "vtkOSOpenGLRenderWindow"

    monkeypatch.setattr(gl, "_draws", draws)
    assert gl_works() == ""
    assert tried == ["", "vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"]
    assert os.environ[gl.GL_CHOICE] == "vtkOSOpenGLRenderWindow"


@pytest.mark.parametrize("fault", [OSError("no more processes")])
def test_a_process_that_cannot_be_started_is_no_gl(monkeypatch, fault):
    def refuse(module):
        raise fault

    monkeypatch.setattr(gl, "start_module", refuse)
    assert "no OpenGL works here" in gl_works()
