"""Where the tests keep what they find out."""

from pathlib import Path

from hypothesis.configuration import set_hypothesis_home_dir

# Beside pytest's own notes, so that it is no folder that the collection of tests walks into.
set_hypothesis_home_dir(Path(__file__).parent.parent / ".pytest_cache" / "hypothesis")
