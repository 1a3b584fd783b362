"""Click's words: what Click itself says ("Usage:", "No such option …"), in the language of the command line.

Click looks its sentences up in gettext's global domain, and gettext learns the language from the environment: both are
set for as long as a command runs. The sentences stand beside ours, in `click.po`; gettext reads what is compiled from
it, `click.mo`.
"""

import gettext
import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from hooflast.texts import locale_folder

DOMAIN: Final = "click"
_LANGUAGE: Final = "LANGUAGE"


@contextmanager
def click_speaking(language: str) -> Iterator[None]:
    """Until left, Click says in `language` what it says by itself; in English where there is nothing in it."""
    domain, wished = gettext.textdomain(), os.environ.get(_LANGUAGE)
    gettext.bindtextdomain(DOMAIN, str(locale_folder()))
    gettext.textdomain(DOMAIN)
    os.environ[_LANGUAGE] = language.replace("-", "_")
    try:
        yield
    finally:
        gettext.textdomain(domain)
        if wished is None:
            del os.environ[_LANGUAGE]
        else:
            os.environ[_LANGUAGE] = wished
