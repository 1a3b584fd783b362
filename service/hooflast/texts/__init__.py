"""Texts: every sentence said to a person, by key, in the languages there are catalogs for.

sentences     Texts: says a key with its facts, in one language; load_texts reads it
facts         how a fact is shown: lengths, weeks, chances, dates, labels and lists, by the fact's name
negotiation   which languages there are, and which one suits an Accept-Language header
errors        what is raised when a sentence or one of its facts is missing
locale/       one folder per language, each with LC_MESSAGES/hooflast.po; adding a folder adds a language; click.po
              beside it is what Click says by itself on the command line

A key is `<family>.<code>`: `fault.`, `caution.`, `why.` and `assumption.` for sentences, and labels such as
`limb.LF`, `verdict.snug` or `use.hacking` for the words of `fit` and `catalog`. Everything that is said by other
rooms stands under a family of theirs. Texts knows no HTTP, no request and no answer.
"""

from hooflast.texts.errors import FactMissing, TextMissing
from hooflast.texts.negotiation import DEFAULT_LANGUAGE, languages, locale_folder, negotiate
from hooflast.texts.sentences import Texts, load_texts

__all__ = [
    "DEFAULT_LANGUAGE",
    "FactMissing",
    "TextMissing",
    "Texts",
    "languages",
    "load_texts",
    "locale_folder",
    "negotiate",
]
