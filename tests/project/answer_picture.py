"""The picture of an answer at the top of the README: `python -m tests.project.answer_picture` draws it anew."""

from datetime import date
from typing import Final

from tests.project.checkout import ROOT

from hooflast.api.pages.demo import BRAMBLE
from hooflast.catalog.loading import load_catalog
from hooflast.exchange import read_match_question
from hooflast.matching.match_horse import match_horse
from hooflast.matching.pictures import hooves_picture
from hooflast.matching.shelf import lay_out
from hooflast.texts import load_texts

PICTURE: Final = ROOT / "deploy" / "pictures" / "answer.svg"


def drawn() -> str:
    """The demo horse's hooves on the newest catalog release, on the day of that release."""
    release = load_catalog().library.active
    today: date = release.released_on
    answer = match_horse(read_match_question(BRAMBLE, today=today), lay_out(release), today=today, language="en")
    return hooves_picture(answer, texts=load_texts("en")) + "\n"


if __name__ == "__main__":
    PICTURE.write_text(drawn(), encoding="utf-8")
