"""Start page: an answer and the form below it, or the form by itself, as HTML."""

from hooflast.api.pages.choices import WORDS
from hooflast.api.pages.form import Form
from hooflast.api.pages.templating import render
from hooflast.api.pages.told import Told
from hooflast.api.pages.view import answer_view
from hooflast.matching.answer import MatchAnswer
from hooflast.texts import Texts

TEMPLATE = "start.html.j2"


def demo_page(answer: MatchAnswer, *, texts: Texts, base: str) -> str:
    """The demo horse's answer, with an empty form below."""
    return _page(answer, form=Form(), lead=texts.say("page.demo"), texts=texts, base=base)


def answer_page(answer: MatchAnswer, *, form: Form, texts: Texts, base: str) -> str:
    """An answer, with the form it came from below."""
    return _page(answer, form=form, lead=texts.say("page.not-kept"), texts=texts, base=base)


def form_page(*, form: Form, told: Told, texts: Texts, base: str) -> str:
    """The form by itself, with what is wrong with it."""
    title = texts.say("page.faults-title" if told.faults else "page.form.title")
    return render(TEMPLATE, texts=texts, base=base, title=title, lead="", view=None, form=form, told=told, words=WORDS)


def _page(answer: MatchAnswer, *, form: Form, lead: str, texts: Texts, base: str) -> str:
    texts = texts.in_unit(answer.question.unit)
    name = answer.question.horse_name
    title = texts.say("page.title", {"horse_name": name}) if name else texts.say("page.title-unnamed")
    return render(
        TEMPLATE,
        texts=texts,
        base=base,
        title=title,
        lead=lead,
        view=answer_view(answer, texts=texts),
        form=form,
        told=Told(),
        words=WORDS,
    )
