"""Which column is what: guessed from its heading and from what stands in it, each guess with its reason."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from django.utils.translation import gettext as _

from register.calc.tag_patterns import CONVENTIONS, TagPattern, read_patterns, read_tag
from register.exchange.cells import CellProblem
from register.exchange.foreign import spelling
from register.exchange.foreign.files import Line
from register.exchange.foreign.headings import Headings, as_text
from register.exchange.foreign.indexes import Mapping
from register.exchange.foreign.targets import Hand, Target, known_heading, targets
from register.plant.tag_letters import role_of

MOST_LOOKED_AT = 200
"""Different texts of a column."""
ROWS_LOOKED_AT = 5000
LIKE_IT, UNLIKE_IT = 0.7, 0.4
"""From which share of a column's texts on it looks like something, and below which it does not."""


@dataclass(frozen=True)
class Guess:
    """What a column is taken for ("": nothing) and why."""

    key: str
    why: str


def guess_mapping(lines: Iterable[Line], headings: Headings, usual: str) -> tuple[Mapping, list[Guess]]:
    """How an index may be read, with the reason of each column; ``usual`` are the plant's patterns of tags."""
    texts = texts_below(lines, headings)
    guesses = guess_columns(headings.texts, texts, usual)
    columns = {place: guess.key for place, guess in enumerate(guesses) if guess.key}
    tags = next((texts[place] for place, key in columns.items() if key == "tag"), [])
    return Mapping(headings.row, headings.rows, columns, guess_patterns(tags, usual)), guesses


def texts_below(lines: Iterable[Line], headings: Headings) -> list[list[str]]:
    """The different texts of each column, as many as are looked at."""
    found: list[dict[str, None]] = [{} for _heading in headings.texts]
    for number, cells in islice(lines, ROWS_LOOKED_AT):
        texts = dict(enumerate(map(as_text, cells[: len(found)])))
        if number >= headings.row + headings.rows and not headings.are_repeated_in(texts):
            for place, text in texts.items():
                if text and len(found[place]) < MOST_LOOKED_AT:
                    found[place][text] = None
    return [list(column) for column in found]


def guess_columns(headings: Sequence[str], texts: Sequence[list[str]], patterns: str) -> list[Guess]:
    """A guess for each column by its heading and its different texts; each thing is found once."""
    hand = Hand(spelling.decimal_sign(text for column in texts for text in column))
    found = [_guess(heading, column, hand, patterns) for heading, column in zip(headings, texts, strict=True)]
    best: dict[str, int] = {}
    for place, (_how, guess) in enumerate(found):
        if guess.key and (guess.key not in best or found[best[guess.key]][0] < found[place][0]):
            best[guess.key] = place
    return [
        guess
        if not guess.key or best[guess.key] == place
        else Guess("", _("as %(what)s another column fits better") % {"what": targets()[guess.key].label})
        for place, (_how, guess) in enumerate(found)
    ]


def _guess(heading: str, texts: list[str], hand: Hand, patterns: str) -> tuple[float, Guess]:
    """How well a column fits what it is taken for, and that."""
    named = known_heading(heading)
    if not texts:
        return (0, Guess("", _("it is empty"))) if not named else (0, Guess(named[0], _("its heading; it is empty")))
    hand = Hand(hand.decimal, spelling.day_first(texts), spelling.unit_in_heading(heading))
    if named:
        target = targets()[named[0]]
        share = _share(target, texts, hand, patterns)
        if share >= UNLIKE_IT:
            return named[1] + share, Guess(target.key, _told(_("its heading"), share, len(texts)))
    looks_like = {
        other.key: found
        for other in targets().values()
        if other.tells_itself and len(texts) > 1 and (found := _share(other, texts, hand, patterns)) >= LIKE_IT
    }
    if looks_like:
        key = max(looks_like, key=looks_like.get)
        return looks_like[key], Guess(key, _told(_("what stands in it"), looks_like[key], len(texts)))
    if not named:
        return 0, Guess("", _("neither its heading nor what stands in it says"))
    whole = named[1] == 3
    why = _("its heading") if whole else _("its heading says %(what)s") % {"what": target.label}
    return share, Guess(target.key if whole else "", _told(why, share, len(texts)))


def _told(what: str, share: float, texts: int) -> str:
    if share == 1:
        return what
    return _("%(what)s; %(some)d of %(all)d texts can be read so") % {
        "what": what,
        "some": round(share * texts),
        "all": texts,
    }


def _share(target: Target, texts: list[str], hand: Hand, patterns: str) -> float:
    return sum(_reads(target, text, hand, patterns) for text in texts) / len(texts)


def _reads(target: Target, text: str, hand: Hand, patterns: str) -> bool:
    if target.key == "tag":
        read = read_tag(text, read_patterns(patterns))
        return read is not None and role_of(read[0].letters) is not None
    try:
        target.read(text, hand)
    except CellProblem:
        return False
    return True


def guess_patterns(tags: Collection[str], usual: str) -> str:
    """The plant's own patterns; before them one of the known conventions that has more of the tags just as they stand,
    or the form in which most of them are written where neither has half of them."""
    plants = read_patterns(usual)

    def kept(patterns: tuple[TagPattern, ...]) -> int:
        return sum(1 for tag in tags if (read := read_tag(tag, patterns)) and read[1].write(read[0]) == tag)

    candidates = [plants, *(read_patterns(one.pattern) for one in CONVENTIONS)]
    best = max(candidates, key=kept)  # the first of equals: the plant's
    if 2 * kept(best) < len(tags):
        forms = Counter(form for tag in tags if (form := _form(tag)))
        form, fitting = forms.most_common(1)[0] if forms else ("", 0)
        return f"{form}\n{usual}" if 2 * fitting >= len(tags) else usual
    return usual if best is plants else f"{best[0].text}\n{usual}"


_PLAIN = re.compile(r"([A-Z]{1,6})([^A-Z0-9{}\[\]]{0,2})\d{1,6}([^A-Z0-9{}\[\]]?)", re.IGNORECASE)


def _form(tag: str) -> str:
    """The pattern of a tag of letters and a number alone, with the marks between and behind them; "" for another."""
    match = _PLAIN.fullmatch(tag)
    return f"{{letters}}{match[2]}{{number}}{match[3]}" if match else ""
