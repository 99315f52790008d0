"""What in a text tells of a person or a place: numbers, addresses, coordinates, plates.

Shapes are from memory where nothing else stands beside them. A shape that the trade's
own figures have too (sizes, ratings, part numbers) counts only beside a word that says
what it is. Each repeat in a pattern has a bound or stands alone, so that none is slow.
"""

import re
from bisect import bisect
from collections.abc import Callable, Collection, Iterable, Iterator
from itertools import accumulate, pairwise
from typing import NamedTuple

from bot.units import unit, units_like


class Seen(NamedTuple):
    """What was seen in a text, from `at` to `end` (without), in plain words."""

    at: int
    end: int
    what: str


_Look = Callable[[str], Iterator[Seen]]


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


_FIGURE, _LINK = re.compile(r"\d"), re.compile(r"https?://[^\s<>]+")
_BEHIND = re.compile(r" {0,2}(%|[A-Za-z]{1,9})(?![A-Za-z])")
_SHORT = _set("% t g cc mpa rpm ps hp n f k x in inch inches gal cm")


def _is_amount(text: str, ends: int) -> bool:
    """Whether the number that ends there has a unit behind it."""
    found = _BEHIND.match(text, ends)
    word = found[1].lower() if found else ""
    return bool(word and (word in _SHORT or units_like(word) or unit(word)))


def seen_in(text: str) -> Iterator[Seen]:
    """All that tells of a person in a text with plain quotes; each told once."""
    yield from _mails(text)
    lines = text.split("\n")
    figures = [len(_FIGURE.findall(line)) for line in lines]
    begins = [0, *accumulate(len(line) + 1 for line in lines)]
    for fewest, looks in _LOOKS:
        kept = [n for n, count in enumerate(figures) if count >= fewest]
        moved = [0, *accumulate(len(lines[n]) + 1 for n in kept)]
        for seen in _in_figures("\n".join(lines[n] for n in kept), looks):
            nth = bisect(moved, seen.at) - 1
            by = begins[kept[nth]] - moved[nth]
            yield Seen(seen.at + by, seen.end + by, seen.what)


def _in_figures(text: str, looks: Iterable[_Look]) -> Iterator[Seen]:
    """What is seen in lines with figures; of a link, only a place that is in it."""
    covered = set[int]()
    unlinked = _LINK.sub(lambda link: " " * len(link[0]), text)
    for look in looks:
        for seen in look(text if look is _coordinates else unlinked):
            if covered.isdisjoint((seen.at, seen.end - 1)):
                covered.update(range(seen.at, seen.end))
                yield seen


def _shaped(
    what: str, shapes: Iterable[re.Pattern[str]], text: str, but: Collection[str] = ()
) -> Iterator[Seen]:
    """All that has one of the shapes, unless a group of it is a word of the trade."""
    for shape in shapes:
        for found in shape.finditer(text):
            if not any(group in but for group in found.groups()):
                yield Seen(*found.span(), what)


def _cued(cue: re.Pattern[str], text: str, at: int) -> bool:
    """Whether a word that says what follows stands shortly before, on the same line."""
    return bool(cue.search(text[max(0, at - 32) : at].rpartition("\n")[2].lower()))


# E-mail addresses (the common part of RFC 5322)

_MAIL = re.compile(r"(?<![\w.+-])[\w.+-]{1,64}@([\w.-]{4,100})")
_AT_SPELT = re.compile(r"[\[({] ?at ?[\])}] ?", re.IGNORECASE)
_HOST_SPELT = re.compile(
    r"(?<![\w-])[a-z][\w-]{0,60}(?:\.[a-z]| ?[\[({]? ?dot(?!\w))", re.IGNORECASE
)


def _mails(text: str) -> Iterator[Seen]:
    what = "an e-mail address"
    for found in _MAIL.finditer(text) if "@" in text else ():
        host, _, last = found[1].rstrip(".-").rpartition(".")
        if host and last.isalpha() and len(last) > 1:
            yield Seen(*found.span(), what)
    for sign in _AT_SPELT.finditer(text):
        host_spelt = _HOST_SPELT.match(text, sign.end())
        if host_spelt:
            yield Seen(sign.start(), host_spelt.end(), what)


# Telephone numbers: at most 15 digits (ITU-T E.164), a national one with a single
# leading nought, or by threes and four as in North America

_RUN = re.compile(r"(?<![\w/+-])(?<!\d[.,])\+?\(?\d[\d ()/.-]*")
_APART = re.compile(r" {2,}| [/-] ")
_GROUP, _MIXED = re.compile(r"\d+"), re.compile("[ /]")
_AMERICAN = re.compile(r"(?:1[ .-])?(?:\([2-9]\d\d\) ?|[2-9]\d\d[.-])\d{3}[.-]\d{4}")
_CALL = re.compile(
    r"(?<!\w)(?:tel|(?:tele)?phone|mobile|mob|cell|fax|whatsapp|sms|dial|"
    r"(?:call|ring|text|phone|reach)(?:ing|ed)? "
    r"(?:me|him|her|us|them|on|at|\w{1,12} on))(?!\w)[^\d\n]{0,16}$"
)
_ORDER = re.compile(
    r"(?<!\w)(?:parts?|order|article|stock|item|nsn|serial|catalogue|drawing|ref)"
    r"(?!\w)[^\d\n]{0,10}$"
)


def _phones(text: str) -> Iterator[Seen]:
    for run in _RUN.finditer(text):
        if len(run[0]) < 6:
            continue
        at = run.start()
        for piece in dict.fromkeys((run[0], *_APART.split(run[0]))):
            number = piece.rstrip(" (/.-")
            begins = text.index(number, at)
            end = begins + len(number)
            if not text[end : end + 1].isalpha() and _is_phone(number, text, begins):
                yield Seen(begins, end, "a telephone number")
                if piece == run[0]:
                    break
            at = begins if piece == run[0] else end


def _is_phone(number: str, text: str, at: int) -> bool:
    groups = _GROUP.findall(number)
    digits = sum(map(len, groups))
    dots = number.count(".")
    listed = number.count(" / ") > 1 or "  " in number or " - " in number
    if not 6 <= digits <= 15 or listed or dots == 1 or (dots and _MIXED.search(number)):
        return False
    if _is_amount(text, at + len(number)):
        return False
    if _cued(_CALL, text, at):
        return True
    if _cued(_ORDER, text, at):
        return False
    first = groups[0]
    if number.startswith("+"):
        return digits >= 8 and not first.startswith("0")
    abroad = digits >= 11 and len(first) > 2 and first[:2] == "00" and first[2] != "0"
    return abroad or _at_home(number, groups, digits)


def _at_home(number: str, groups: list[str], digits: int) -> bool:
    first = groups[0]
    if _AMERICAN.fullmatch(number):
        return True
    noughts = sum(group.startswith("0") for group in groups[1:])
    if first[:1] != "0" or first[1:2] in ("", "0") or noughts > 1:
        return False
    if [len(group) for group in groups] == [2] * 5:
        return True
    if len(groups) == 1:
        return digits in (10, 11)
    enough = 9 <= digits <= 13 and len(groups) <= 5
    return enough and (len(first) > 2 or number.startswith("("))


# Coordinates: degrees, and the grids in common use

_DECIMAL = re.compile(r"(?<![\w.])[+-]?\d{1,3}\.\d{3,10}(?!\d)")
_COMMA = re.compile(r" ?°?[,;]? ?")
_LISTED = re.compile(r"[eE]|[ ,;/|]{1,4}[+-]?\d{1,9}\.\d")
_LISTED_BEFORE = re.compile(r"\d\.\d{1,12}(?:e[+-]?\d{1,3})?[ ,;/|]{1,4}$")
_PLACE = re.compile(
    r"(?<!\w)(?:gps|coordinates?|position|geo|waypoint|lat|latitude)(?!\w)"
)
_DEGREES = re.compile(
    r"(?<![\d.])\d{1,3} ?° ?\d{1,2}[.\d]{0,7} ?'([\d. ]{0,9})(?:\"|'')? ?([NSEW]?)"
    r"(?![A-Za-z])",
    re.IGNORECASE,
)
_SHAPES_OF_PLACES = (
    re.compile(
        r"(?<![\w.])\d{1,2}(?:\.\d{1,9} ?°?|°) ?[NS][ ,;/]{1,3}"
        r"\d{1,3}(?:\.\d{1,9} ?°?|°) ?[EW](?!\w)"
    ),
    re.compile(r"(?<!\w)[NS] ?\d{1,2}\.\d{2,9}°?[ ,;/]{1,3}[EW] ?\d{1,3}\.\d"),
    re.compile(r"(?<!\w)[NS] ?\d{1,2}[° ] ?\d{1,2}\.\d{2,5}'?[ ,;/]{1,3}[EW] ?\d"),
    re.compile(r"(?<![\w.])\d{1,2} \d{1,2}\.\d{2,5}'? ?[NS][ ,;/]{1,3}\d{1,3} "),
    re.compile(r"(?<!\w)lat(?:itude)?[\" ]{0,2}[:=][\" ]{0,2}-?\d{1,2}\.\d{3}", re.I),
    re.compile(r"(?<!\w)\d{1,2} ?[C-HJ-NP-X],? \d{6}[ ,mE]{1,4}\d{7}(?!\d)"),
)
_MILITARY = re.compile(
    r"(?<!\w)\d{1,2}[C-HJ-NP-X] ?([A-HJ-NP-Z]{2}) ?(\d{2,5}) ?(\d{2,5})(?!\w)"
)
_SQUARE = re.compile(r"(?<!\w)(?:[A-Za-z]{2} ?)?\d{2,5} ?\d{2,5}(?!\w)")
_GRID = re.compile(
    r"(?<!\w)(?:(?:grid|map)(?: ref(?:erence)?| square)?|gr|os)[^\w\n]{1,3}(?:is )?$"
)


def _coordinates(text: str) -> Iterator[Seen]:
    what = "coordinates"
    for one, other in pairwise(_DECIMAL.finditer(text)):
        if 0 < other.start() - one.end() < 5 and _is_pair(one, other, text):
            yield Seen(one.start(), other.end(), what)
    if "°" in text:
        yield from (Seen(at, end, what) for at, end in _in_degrees(text))
    yield from _shaped(what, _SHAPES_OF_PLACES, text)
    what = "a grid reference"
    for found in _MILITARY.finditer(text):
        digits = len(found[2] + found[3])
        if digits >= 8 and digits % 2 == 0 and found[1] not in ("DC", "AC"):
            yield Seen(*found.span(), what)
    for found in _SQUARE.finditer(text):
        if _cued(_GRID, text, found.start()):
            yield Seen(*found.span(), what)


def _is_pair(one: re.Match[str], other: re.Match[str], text: str) -> bool:
    """Whether two decimals are a latitude and a longitude, and no sizes."""
    between = text[one.end() : other.start()]
    near, far = sorted((abs(float(one[0])), abs(float(other[0]))))
    if near > 90 or far > 180 or not _COMMA.fullmatch(between):
        return False
    if _is_amount(text, other.end()) or _LISTED.match(text, other.end()):
        return False
    if "°" in between or _cued(_PLACE, text, one.start()):
        return True
    places = min(len(each[0].partition(".")[2]) for each in (one, other))
    listed = _cued(_LISTED_BEFORE, text, one.start())
    return places >= 4 and far >= 10 and not listed


def _in_degrees(text: str) -> Iterator[tuple[int, int]]:
    """Degrees and minutes with a side of the world; angles on a truck have none."""
    last: re.Match[str] | None = None
    for found in _DEGREES.finditer(text):
        before = text[max(0, found.start() - 3) : found.start()].strip().upper()
        sided = before[-1:] in tuple("NSEW") and not before[-2:-1].isalpha()
        if found[2] or sided:
            yield found.span()
        elif last and found[1].strip() and found.start() - last.end() <= 4:
            yield last.start(), found.end()
        last = found if found[1].strip() else None


# Bank account numbers: length by country, check by 97 (ISO 7064, second-hand)

_LENGTHS = {
    15: "NO", 16: "BE", 18: "DK FI FO NL", 19: "MK SI", 20: "AT BA EE LT LU KZ",
    21: "CH HR LI LV", 22: "BG DE GB GE IE ME RS", 23: "AE GI IL",
    24: "AD CZ ES MD RO SA SE SK TN VG PK", 25: "PT", 26: "IS TR",
    27: "FR GR IT MC SM MR", 28: "AL AZ CY DO GT HU LB PL", 29: "BR QA UA PS",
    30: "JO KW MU", 31: "MT",
}  # fmt: skip
_LENGTH_OF = {land: n for n, lands in _LENGTHS.items() for land in lands.split()}
_IBAN = re.compile(r"(?<![A-Za-z0-9])[A-Za-z]{2}\d{2}(?=[ A-Za-z0-9-])")
_NOT_ACCOUNT = re.compile(r"[^A-Za-z0-9 -]")
_NAMED_ACCOUNT = re.compile(r"(?<!\w)iban[^\w\n]{0,4}(?:is |no |number )?$")


def _accounts(text: str) -> Iterator[Seen]:
    for found in _IBAN.finditer(text):
        length = _LENGTH_OF.get(found[0][:2].upper(), 0)
        piece = _NOT_ACCOUNT.split(text[found.start() : found.start() + 44], 1)[0]
        code = piece.replace(" ", "").replace("-", "")[: length or 20].upper()
        named = len(code) >= 15 and _cued(_NAMED_ACCOUNT, text, found.start())
        if named or (length and len(code) == length and _rest_of_97(code) == 1):
            yield Seen(*found.span(), "a bank account number")


def _rest_of_97(code: str) -> int:
    return int("".join(str(int(letter, 36)) for letter in code[4:] + code[:4])) % 97


# Chassis numbers: 17 digits and capitals without I, O, Q (ISO 3779, second-hand), the
# last four being digits; older ones only where they are named

_VIN = re.compile(r"(?<![A-Za-z0-9])[A-HJ-NPR-Za-hj-npr-z0-9]{13}\d{4}(?![A-Za-z0-9])")
_CHASSIS = re.compile(
    r"(?<!\w)(?:(?:frame|vehicle identification) (?:number|no)|vin|"
    r"chassis(?: number| no| nr)?)(?!\w)[ .:#=]{1,4}(?:is |was )?",
    re.IGNORECASE,
)
_MARK = re.compile(r"[A-Z0-9][A-Z0-9 .-]{3,29}")


def _chassis(text: str) -> Iterator[Seen]:
    what = "a chassis number"
    for found in _VIN.finditer(text):
        if found[0].isupper() or found[0].islower():
            yield Seen(*found.span(), what)
    for cue in _CHASSIS.finditer(text):
        mark = _MARK.match(text, cue.end())
        if (
            mark
            and sum(map(str.isdigit, mark[0])) > 5
            and not _is_amount(text, mark.end())
        ):
            yield Seen(*mark.span(), what)


# Number plates: three shapes that the trade hardly has, others where they are named

_PLATES = (
    re.compile(r"(?<![\w/-])([A-HJ-PR-Y]{2})[0-7]\d ([A-HJ-PR-Z]{3})(?!\w)"),
    re.compile(r"(?<![\w/-])[A-HJ-NP-TV-Z]{2}-\d{3}-[A-HJ-NP-TV-Z]{2}(?![\w-])"),
)
_PLATE_DASHED = re.compile(
    r"(?<![\w-])([A-Z]{1,3})-([A-Z]{1,2})[ -]?(\d{2,4})[EH]?(?!\w)"
)
_TRADE = _set(
    "DIN ISO EN ECE SAE API IEC VDI VDE TRB TRBS UN DOT BS DN PN PG BA GL CF CH CI CJ "
    "CK HD LED NPT BSP VDC VAC PVC PUR MAX MIN AND THE FOR NOT OUT OFF BAR PSI RPM NUT "
    "NR NO SN MIL STD ACEA"
)
_NAMED_PLATE = re.compile(
    r"(?<!\w)(?:(?:number|licen[cs]e) ?plate|registration(?: number| mark| no)?|"
    r"registered(?: as)?|reg(?:\.? no)?)(?!\w)[ .:#]{1,3}(?:is |was |reads )?",
    re.IGNORECASE,
)
_GROUPS = re.compile(r"[A-Z0-9]{1,7}(?:[ .-][A-Z0-9]{1,6}){0,2}(?!\w)")
_PARTED, _RATING = re.compile(r"[ .-]"), re.compile(r"\d{1,4}(?:[VAWH]|AH|KW|X\d{1,4})")


def _plates(text: str) -> Iterator[Seen]:
    what = "a number plate"
    yield from _shaped(what, _PLATES, text, _TRADE)
    for found in _PLATE_DASHED.finditer(text):
        parts = found.groups()
        if sum(map(len, parts)) < 6 or _is_amount(text, found.end()):
            continue
        if _TRADE.isdisjoint(parts):
            yield Seen(*found.span(), what)
    for cue in _NAMED_PLATE.finditer(text):
        mark = _GROUPS.match(text, cue.end())
        if mark and _is_plate(_PARTED.split(mark[0])):
            yield Seen(*mark.span(), what)


def _is_plate(groups: list[str]) -> bool:
    joined = "".join(groups)
    mixed = not joined.isalpha() and not joined.isdigit()
    short = all(len(group) <= 3 for group in groups if group.isalpha())
    rated = all(map(_RATING.fullmatch, groups))
    return 5 <= len(joined) <= 9 and mixed and short and not rated


# Postal addresses

_STREETS = (
    re.compile(
        r"(?<![\w.,/-])\d{1,4}[A-Za-z]?,? ([A-Z][a-z']{2,15}) (?:[A-Z][a-z']{2,15} )?"
        r"(?:Street|St|Road|Rd|Lane|Avenue|Ave|Crescent|Terrace)(?!\w)"
    ),
    re.compile(
        r"(?<![\w.,/-])\d{1,4}[A-Za-z]? ([A-Z][a-z']{2,15}) (?:Drive|Close|Way|Gardens|"
        r"Court|Place|Hill|Row|Grove|Mews|Park|Quay|Wharf), ?[A-Z]"
    ),
)
_NO_STREET = _set(
    "Off On By The Test Trial Dirt Wet Dry Main Wheel Wheels Front Rear All Final Power"
)
_HOUSE = re.compile(r"(?<!\w)[A-Z][a-zß]{4,28}\.? \d{1,4}[a-z]?(?!\w)")
_LANES = ("strasse", "straße", "str", "weg", "gasse", "platz", "allee")
_LETTERBOXES = (
    re.compile(r"(?<!\w)P\.? ?O\.? ?Box \d", re.IGNORECASE),
    re.compile(r"(?<!\w)(?:[DF]-\d{5}|CH-\d{4}) [A-Z][a-z]"),
    re.compile(r"(?<!\w)\d{1,4},? (?:rue|boulevard|chemin) [A-Za-z]", re.I),
    re.compile(r"(?<![\w.])\d{1,4}[a-z]?, \d{5} [A-Z][a-z]"),
    # letters of a British postcode: seen in a description of its format, second-hand
    re.compile(
        r"(?:^|(?<!\w)[A-Z][\w-]{1,20},? )(?:[A-PR-UWYZ][A-HK-Y]|[BEGLMNSW])\d[A-Z\d]? "
        r"\d([ABD-HJLNP-UW-Z]{2})(?!\w)",
        re.MULTILINE,
    ),
)
_NO_POSTCODE = _set("WD PR LT PT HP AH PS DR WS")


def _addresses(text: str) -> Iterator[Seen]:
    what = "a postal address"
    yield from _shaped(what, _STREETS, text, _NO_STREET)
    yield from _shaped(what, _LETTERBOXES, text, _NO_POSTCODE)
    for found in _HOUSE.finditer(text):
        if found[0].partition(" ")[0].rstrip(".").endswith(_LANES):
            yield Seen(*found.span(), what)


_LOOKS = ((1, (_addresses, _plates)), (4, (_coordinates, _accounts, _chassis, _phones)))
"""What is looked for in lines with at least so many figures."""
