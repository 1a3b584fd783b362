"""Sentences: a key and its facts, said in one language.

A catalog is a gettext .po file: the msgid is the key, the msgstr the sentence with {placeholders} named as the facts
are. A sentence with plural forms has the key as msgid and as msgid_plural, and is chosen by the fact `count`.
A part in [square brackets] is said only if all facts it asks for were given.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from gettext import GNUTranslations
from io import BytesIO
from typing import Final

from babel import Locale
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from hooflast.errors import Fact, NotFound
from hooflast.texts.errors import FactMissing, TextMissing
from hooflast.texts.facts import PLAIN_NUMBER, FactFormat
from hooflast.texts.negotiation import catalog_file, languages
from hooflast.units import Unit

PLACEHOLDER: Final = re.compile(r"\{([a-z][a-z0-9_]*)\}")
OPTIONAL: Final = re.compile(r"\[([^\[\]]*)\]")
_NO_FACTS: Final[Mapping[str, Fact]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Texts:
    """Every sentence of one language. Lengths are said in `unit` unless a sentence's facts name another.

    `keys` are all it can say, `counted` those of them that have plural forms.
    """

    language: str
    keys: frozenset[str]
    counted: frozenset[str]
    translations: GNUTranslations
    unit: Unit = Unit.MM

    def say(self, key: str, facts: Mapping[str, Fact] = _NO_FACTS) -> str:
        """The sentence called `key`, with its placeholders filled. Raises TextMissing and FactMissing."""
        template = self._template(key, count=facts.get("count"))
        if "{" not in template:
            return template
        shown = self._format(facts.get("unit"))

        def keep_if_known(part: re.Match[str]) -> str:
            return part[1] if facts.keys() >= set(PLACEHOLDER.findall(part[1])) else ""

        def fill(placeholder: re.Match[str]) -> str:
            name = placeholder[1]
            if name not in facts:
                raise FactMissing(key=key, language=self.language, fact=name)
            return shown.show(name, facts[name])

        return PLACEHOLDER.sub(fill, OPTIONAL.sub(keep_if_known, template))

    def has(self, key: str) -> bool:
        """Whether this language has a sentence called `key`."""
        return key in self.keys

    def length(self, length_mm: float) -> str:
        """A length in the reader's unit, with the unit's sign."""
        return self._format(None).length(length_mm)

    def chance(self, chance: float) -> str:
        """A probability in whole per cent."""
        return self._format(None).chance(chance)

    def money(self, minor: int, *, currency: str) -> str:
        """A sum of money, from minor units of an ISO 4217 currency."""
        return self._format(None).money(minor, currency=currency)

    def number(self, value: float, *, pattern: str = PLAIN_NUMBER) -> str:
        """A number as the language writes it, by a pattern of CLDR."""
        return self._format(None).number(value, pattern=pattern)

    def source(self, named: str) -> str:
        """What a caution rests on: in our words where there are any, else a publication as it is cited."""
        return self._label("source", named) or named

    def in_unit(self, unit: Unit) -> "Texts":
        """The same sentences for a reader who measures in `unit`."""
        return replace(self, unit=unit)

    def _template(self, key: str, *, count: Fact | None) -> str:
        if key not in self.keys:
            raise TextMissing(key=key, language=self.language)
        if key in self.counted and isinstance(count, int):
            return self.translations.ngettext(key, key, count)
        return self.translations.gettext(key)

    def _format(self, unit: Fact | None) -> FactFormat:
        in_unit = Unit(unit) if isinstance(unit, str) and unit in list(Unit) else self.unit
        return FactFormat(locale=_locale(self.language), unit=in_unit, label=self._label)

    def _label(self, family: str, code: str) -> str | None:
        key = f"{family}.{code}"
        return self.translations.gettext(key) if key in self.keys else None


@cache
def _locale(language: str) -> Locale:
    return Locale.parse(language, sep="-")


@cache
def load_texts(language: str) -> Texts:
    """The sentences of `language`, lengths in mm. Raises NotFound if there is no catalog for it."""
    if language not in languages():
        raise NotFound(resource="language", name=language)
    with catalog_file(language).open("rb") as file:
        catalog = read_po(file, locale=language.replace("-", "_"), abort_invalid=True)
    said = [message for message in catalog if message.id and message.string and not message.fuzzy]
    counted = frozenset(message.id[0] for message in said if not isinstance(message.id, str))
    once = frozenset(message.id for message in said if isinstance(message.id, str))
    compiled = BytesIO()
    write_mo(compiled, catalog)
    compiled.seek(0)
    return Texts(language=language, keys=once | counted, counted=counted, translations=GNUTranslations(compiled))
