"""Facts: how a fact is shown inside a sentence. Its name says what it is.

| name                       | value                      | shown as                                              |
|----------------------------|----------------------------|-------------------------------------------------------|
| `…_mm`                     | a length in millimetres    | the length in the reader's unit: 124 mm, 4.88 in      |
| `…_weeks`                  | a number of weeks          | 6 weeks, 1 week                                       |
| `…_chance`                 | a probability in [0, 1]    | 84%; never 0% or 100%: under 1%, over 99%             |
| `…_money`                  | `EUR 4990`: ISO 4217 code and minor units | €49.90                                 |
| `…_date`                   | an RFC 3339 full-date      | Mar 1, 2026                                           |
| `at`, `…_at`               | an RFC 3339 date-time      | Mar 1, 2026, 9:30:00 AM UTC                           |
| `…_list`, `…_choices`      | codes parted by commas     | a, b, and c; a, b, or c                               |
| `count`                    | a whole number             | itself; it also chooses the plural form               |
| `port`                     | the number of a port       | its digits                                            |
| `limb`, `other_limb`, …    | a code with a label        | its label, if its last word is a family of labels     |
| anything else              | number or text             | the number as the language writes it; the text itself |

The fact `unit` (mm, cm or in), if given, is the unit in which this sentence shows its lengths.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from math import floor
from typing import Final, Literal

from babel import Locale
from babel.dates import format_date, format_datetime
from babel.lists import format_list
from babel.numbers import format_currency, format_decimal, format_percent, get_currency_precision
from babel.units import format_unit

from hooflast.errors import Fact
from hooflast.units import Unit, to_unit

Label = Callable[[str, str], str | None]
_CLDR_UNIT: Final = {Unit.MM: "length-millimeter", Unit.CM: "length-centimeter", Unit.INCH: "length-inch"}
PLAIN_NUMBER: Final = "#,##0.###"
_DIGITS: Final = {Unit.MM: "#,##0.#", Unit.CM: "#,##0.#", Unit.INCH: "#,##0.##"}


@dataclass(frozen=True, slots=True, kw_only=True)
class FactFormat:
    """How facts are shown in one language and one unit of length.

    `label` gives the word for a family and a code, or None if there is none.
    """

    locale: Locale
    unit: Unit
    label: Label

    def show(self, name: str, value: Fact) -> str:
        """The fact called `name`, as it stands in a sentence."""
        kind = name.rpartition("_")[2]
        if isinstance(value, str):
            return self._show_text(name, value, kind=kind)
        if kind == "mm":
            return self.length(value)
        if kind == "weeks":
            return str(format_unit(value, "duration-week", length="long", format="#,##0.#", locale=self.locale))
        if kind == "chance":
            return self.chance(value)
        if kind == "port":
            return str(value)
        return self.number(value)

    def number(self, value: float, *, pattern: str = PLAIN_NUMBER) -> str:
        """A number as the language writes it, by a pattern of CLDR."""
        return str(format_decimal(value, format=pattern, locale=self.locale))

    def money(self, minor: int, *, currency: str) -> str:
        """A sum of money, from minor units, as the language writes it."""
        amount = Decimal(minor).scaleb(-get_currency_precision(currency))
        return format_currency(amount, currency, locale=self.locale)

    def length(self, length_mm: float) -> str:
        """A length in the reader's unit, with the unit's sign."""
        number = to_unit(length_mm, unit=self.unit)
        return format_unit(number, _CLDR_UNIT[self.unit], length="short", format=_DIGITS[self.unit], locale=self.locale)

    def chance(self, chance: float) -> str:
        """A probability in whole per cent; what is nearly never or nearly always is not said to be so."""
        if chance < 0.01:
            return self._bounded(self.label("chance", "under"), 0.01)
        if chance > 0.99:
            return self._bounded(self.label("chance", "over"), 0.99)
        return str(format_percent(floor(chance * 100 + 0.5) / 100, locale=self.locale))

    def _bounded(self, said: str | None, bound: float) -> str:
        shown = str(format_percent(bound, locale=self.locale))
        return (said or "{bound}").replace("{bound}", shown)

    def _show_text(self, name: str, value: str, *, kind: str) -> str:
        if kind == "date":
            return str(format_date(date.fromisoformat(value), format="medium", locale=self.locale))
        if kind == "at":
            shown = format_datetime(datetime.fromisoformat(value), format="medium", tzinfo=UTC, locale=self.locale)
            return f"{shown} UTC"
        if kind == "money":
            currency, _, minor = value.partition(" ")
            return self.money(int(minor), currency=currency)
        if kind == "list":
            return self._enumerate(name, value, style="standard")
        if kind == "choices":
            return self._enumerate(name, value, style="or")
        return self.label(kind, value) or value

    def _enumerate(self, name: str, value: str, *, style: Literal["standard", "or"]) -> str:
        family = name.rpartition("_")[0].rpartition("_")[2]
        codes = [code.strip() for code in value.split(",") if code.strip()]
        return format_list([self.label(family, code) or code for code in codes], style=style, locale=self.locale)
