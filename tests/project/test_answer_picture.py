"""The README shows what the service answers today."""

from tests.project.answer_picture import PICTURE, drawn


def test_the_picture_in_the_readme_is_the_demo_horses_answer() -> None:
    """Draw it anew with `python -m tests.project.answer_picture`."""
    assert PICTURE.read_text("utf-8") == drawn()
