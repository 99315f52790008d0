"""Outcomes and wordings that are shared: what may be in them, and what they may do."""

import os
import shutil
import sqlite3
import stat
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from hashlib import sha256
from itertools import permutations
from pathlib import Path
from random import Random

import pytest

from bot.cards.read import read_card
from bot.club.outcomes import (
    MOST_LINE_BYTES,
    MOST_LINES,
    NONE,
    TRUCKS,
    UNKNOWN,
    Outcome,
    OutcomeError,
    Wording,
    line,
    may_be_said,
    read,
    read_line,
    truck_of,
)
from bot.club.tally import (
    FEWEST_DEVICES,
    MOST_SAID,
    MOST_VOTES,
    device_id,
    paper,
    proves,
    tally,
)
from bot.desk import sharing
from bot.desk.library import KbLibrary
from bot.desk.sharing import Club, Consent, Offer, outcome_of
from bot.diagnose.belief import prior_of
from bot.diagnose.case import Case
from bot.diagnose.learning import Outcomes
from bot.diagnose.problem import Open, propose
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Answer, Job
from bot.model.card import Card
from bot.model.place import BotError
from bot.model.truck import Truck
from bot.store import device, files
from bot.store.device import ShareError, outcomes_file
from bot.store.habits import rows_of
from bot.store.journal import Journal
from bot.store.pool import EDITION, Pool
from bot.store.second import Ended
from tests.tooling import tool

CLUB_ID = sha256(b"Marram Coast Truck Club").hexdigest()
NOW = "2026-11-25T10:00:00+00:00"
PAGE = "wheel-valve-leaks"
CARDS = Path(__file__).parent / "cards"
TOLD = Outcome(
    7,
    PAGE,
    "0123456789ab",
    "split-diaphragm-in-the-wheel-valve",
    "rebuild-the-wheel-valve",
    True,
    "2026-11",
    "air/24",
    ((1, 2), (3, 1)),
)
LINE = (
    "1 outcome 7 page wheel-valve-leaks rev 0123456789ab cause "
    "split-diaphragm-in-the-wheel-valve repair rebuild-the-wheel-valve proved yes "
    "truck air/24 month 2026-11 checks 1=2 3=1"
)


def who(number: int) -> str:
    return sha256(str(number).encode()).hexdigest()[:32]


def text(*told: Outcome | Wording) -> str:
    return "".join(f"{line(one)}\n" for one in told)


def vote(cause: str, month: int = 11, page: str = PAGE, number: int = 1) -> Outcome:
    return Outcome(number, page, "", cause, NONE, True, f"2026-{month:02}")


# The line


def test_outcome_is_one_plain_line_and_reads_the_same() -> None:
    assert line(TOLD) == LINE
    assert read_line(LINE) == TOLD
    bare = TOLD._replace(revision="", cause=UNKNOWN, repair=NONE, checks=())
    assert read_line(line(bare)) == bare


@pytest.mark.parametrize(
    "field",
    [
        {"page": "Wheel valve"},
        {"page": "moss@example-org"},
        {"page": "page 12"},
        {"cause": "a\nb"},
        {"cause": ""},
        {"cause": "seen-at-5150742-n"},
        {"repair": "soap; call Moss"},
        {"repair": UNKNOWN},
        {"revision": "0123456789AB"},
        {"month": "2026-11-25"},
        {"month": "2026-13"},
        {"truck": "Heron"},
        {"proved": "yes, by Moss"},
        {"checks": ((3, 1), (1, 2))},
        {"checks": ((1, 0),)},
        {"revision": "", "checks": ((1, 1),)},
        {"number": 0},
        {"page": "p" * 80, "cause": "c" * 80, "repair": "r" * 80},
    ],
)
def test_nothing_but_what_is_listed_can_be_written(field: dict[str, object]) -> None:
    with pytest.raises(OutcomeError):
        line(TOLD._replace(**field))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "hostile",
    [
        f"{LINE} ",
        f" {LINE}",
        f"{LINE} by Moss",
        LINE.replace("1 outcome", "2 outcome"),
        LINE.replace(" 7 ", " 07 "),
        LINE.replace("yes", "YES"),
        LINE.replace("2026-11", "2026-11-25T10:00"),
        LINE.replace("wheel-valve", "wheel\u2010valve"),
        LINE.replace("3=1", "3=\u0661"),
        LINE.replace("1=2 3=1", "1=2 1=3"),
        LINE.replace(" 1=2", "  1=2"),
        LINE.replace("page ", "page ../"),
        LINE.replace("cause ", "cause \x1b[2J"),
        LINE[: LINE.index(" checks")],
        f"{LINE} {'9=9 ' * 60}9=9",
        "\ud800",
        "",
        "x" * 10_000_000,
        "1 wording 1 page a says ",
        "1 wording 1 page a says  two blanks",
        "1 wording 1 page a says \u202ebackwards",
        "1 wording 1 page a says tab\there",
        "1 wording 1 page a says a\u0301 taken apart",
        f"1 wording 1 page a says {'w' * 201}",
    ],
)
def test_hostile_line_is_skipped_and_counted_and_the_next_one_read(
    hostile: str,
) -> None:
    found = read(f"{hostile}\n{LINE}\n")
    assert found == ((TOLD,), (), 1)


def test_line_that_was_cut_is_not_believed_by_half() -> None:
    cut = LINE[: LINE.index(" 3=1")]
    assert read_line(cut)  # by itself it would pass
    assert read(f"{LINE}\n{cut}") == ((TOLD,), (), 1)


def test_lines_that_end_as_another_system_ends_them_are_read() -> None:
    assert read(f"{LINE}\r\n") == ((TOLD,), (), 0)


def test_lines_after_the_most_are_not_looked_at() -> None:
    found = read(f"{LINE}\n" * (MOST_LINES + 5))
    assert (len(found.outcomes), found.skipped) == (MOST_LINES, 5)


def test_longest_line_is_read_and_one_byte_more_is_not() -> None:
    start = "1 wording 1 page "
    end = f" says {'é' * 100}"
    most = MOST_LINE_BYTES - len(f"{start}{end}".encode())
    page = ("abcd-" * 16)[:most]
    assert len(f"{start}{page}{end}".encode()) == MOST_LINE_BYTES
    assert read_line(f"{start}{page}{end}")
    assert read_line(f"{start}{page}{end}e") is None


@pytest.mark.parametrize(
    "words",
    [
        "write to moss@example.org",
        "it stood at 51.50742, 0.12776",
        "51° 30' north of the pass",
        "call 0170 12 345",
        "it broke on 2026-11-25",
        "see https://example.org",
        "as in /home/moss/notes",
        "as in C:\\moss",
        "\u0665\u0661\u066b\u0665\u0660\u0667\u0664 by the ford",
    ],
)
def test_wording_with_what_tells_of_a_person_or_a_place_is_none(words: str) -> None:
    with pytest.raises(OutcomeError):
        line(Wording(1, PAGE, words))
    assert read(f"1 wording 1 page {PAGE} says {words}\n") == ((), (), 1)


def test_wording_with_the_figures_of_the_trade_is_one() -> None:
    words = "hisses at 8.5 bar, 24 V, after 10 min at 80 °C, 1200 rpm"
    assert may_be_said(words)
    assert read_line(line(Wording(2, PAGE, words))) == Wording(2, PAGE, words)


def test_class_of_a_truck_says_brakes_and_volts_alone() -> None:
    everything = ("air brakes", "24 V", "winch", "spring brakes", "Heron", "AB12 CDE")
    assert truck_of(everything, ()) == "air/24"
    assert truck_of(("fluid brakes",), ("24 V",)) == "fluid/12"
    assert truck_of(("Heron",), ("air brakes",)) == "any/any"
    assert len(TRUCKS) == 12


# The tally


def six(draw: Random) -> dict[str, str]:
    """Six devices' files: lines that come twice, wordings, and bad ones among them."""
    found = {}
    for n in range(6):
        told: list[str] = []
        for k in range(1, 26):
            cause, month = draw.choice("abcdef-?"), draw.randrange(1, 13)
            page = draw.choice(("one", "two", "three"))
            told.append(line(vote(cause, month, page, k)))
        told += [line(Wording(50, "one", draw.choice(("hisses", "goes soft"))))] * 2
        told += told[:9]
        told.append("1 outcome by hand")
        draw.shuffle(told)
        found[who(n)] = "".join(f"{one}\n" for one in told)
    return found


def test_all_720_orders_of_six_devices_give_the_very_same_tally() -> None:
    given = six(Random(6))
    wanted = repr(tally(given, clean=bool))
    orders = [dict(order) for order in permutations(given.items())]
    assert len(orders) == 720
    assert {repr(tally(order, clean=bool)) for order in orders} == {wanted}
    assert sum(tally(given).pool("one").values()) > 20


def test_lines_that_come_twice_or_in_another_order_change_nothing() -> None:
    given = six(Random(7))
    draw = Random(8)

    def shuffled(told: str) -> str:
        lines = told.split("\n")[:-1] * 3
        draw.shuffle(lines)
        return "".join(f"{one}\n" for one in lines)

    again = tally({name: shuffled(told) for name, told in given.items()}, clean=bool)
    assert again[:2] == tally(given, clean=bool)[:2]


def test_device_has_one_vote_for_a_cause_in_a_month_and_few_in_all() -> None:
    one_month = text(*(vote("a", number=n) for n in range(1, 1001)))
    assert tally({who(1): one_month}).pool(PAGE) == {"a": 1}
    years = text(*(vote("a", month) for month in range(1, 13)))
    assert tally({who(1): years}).pool(PAGE) == {"a": MOST_VOTES}


def test_none_of_the_causes_is_a_vote_and_not_known_is_not() -> None:
    told = text(vote(NONE), vote(UNKNOWN), vote("a"))
    assert tally({who(1): told}).pool(PAGE) == {"": 1, "a": 1}


def test_file_that_is_no_devices_is_counted_and_left_out() -> None:
    found = tally({"moss": text(vote("a")), who(1): text(vote("a"))})
    assert (found.pool(PAGE), found.skipped) == ({"a": 1}, 1)


def test_figures_are_shown_from_five_devices_on() -> None:
    few = {who(n): text(vote("a"), vote("b")) for n in range(FEWEST_DEVICES - 1)}
    assert tally(few).shown(PAGE) == {}
    assert tally(few).pool(PAGE) == {"a": 4, "b": 4}
    enough = {**few, who(99): text(vote("a"))}
    assert tally(enough).shown(PAGE) == {"a": 5}


def test_wordings_are_counted_by_device_where_somebody_looked_through_them() -> None:
    told = {
        who(n): text(Wording(1, PAGE, "goes soft"), Wording(2, PAGE, "Wren's wheel"))
        for n in range(3)
    }
    assert tally(told).said == {}
    found = tally(told, clean=lambda words: "Wren" not in words)
    assert found.said == {PAGE: {"goes soft": 3}}


def test_device_that_pours_out_wordings_is_heard_so_far() -> None:
    many = text(*(Wording(1, PAGE, f"noise {n}") for n in range(900)))
    assert len(tally({who(1): many}, clean=bool).said[PAGE]) == MOST_SAID


# Forgotten


SECRET = sha256(b"a secret").hexdigest()
OURS = device_id(SECRET, CLUB_ID)


def test_only_who_has_the_secret_can_have_a_device_forgotten() -> None:
    good = paper(SECRET, CLUB_ID)
    assert proves(OURS, good)
    assert not proves(who(1), good)
    assert not proves(OURS, paper(sha256(b"another").hexdigest(), CLUB_ID))
    assert not proves(OURS, good.replace(b"secret", b"club"))
    assert not proves(OURS, b"")


def test_device_is_called_otherwise_in_another_club() -> None:
    assert device_id(SECRET, sha256(b"another").hexdigest()) != OURS
    assert sha256(f"{SECRET} {CLUB_ID}".encode()).hexdigest()[:32] == OURS


def test_lines_of_a_forgotten_device_are_dropped_and_no_others() -> None:
    given = {OURS: text(vote("a")), who(1): text(vote("a"))}
    gone = {
        OURS: paper(SECRET, CLUB_ID).decode(),
        who(1): paper(SECRET, CLUB_ID).decode(),  # not its own paper
    }
    assert tally(given, gone).pool(PAGE) == {"a": 1}


# This device


@pytest.fixture
def club(tmp_path: Path) -> Club:
    """A knowledge base of two pages, one of them private, and an empty store."""
    kb = tmp_path / "kb"
    folder = kb / "cards" / "tyre-inflation"
    folder.mkdir(parents=True)
    shutil.copy(CARDS / f"{PAGE}.md", folder)
    private = (
        (CARDS / f"{PAGE}.md").read_text().replace("share: open", "share: private")
    )
    (folder / "wrens-own-wheel.md").write_text(private)
    return Club(kb, tmp_path / "home", CLUB_ID)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def secret_file(club: Club) -> Path:
    (path,) = (club.home / "club").glob("device-*.txt")
    return path


def lines_in(club: Club) -> list[str]:
    found = (club.kb / "club" / "outcomes").glob("*.txt")
    return [one for path in found for one in path.read_text().split("\n") if one]


@pytest.mark.skipif(os.name == "nt", reason="modes of files are another system's")
def test_secret_is_drawn_once_and_open_to_its_owner_alone(club: Club) -> None:
    ours = device.made(club.home, club.id)
    assert mode(secret_file(club)) == 0o600
    assert device.made(club.home, club.id) == ours == device.known(club.home, club.id)
    secret_file(club).chmod(0o644)
    device.known(club.home, club.id)
    assert mode(secret_file(club)) == 0o600
    assert ours.id == device_id(ours.secret, club.id)


def test_each_club_has_a_secret_of_its_own(club: Club) -> None:
    other = sha256(b"another").hexdigest()
    ours, theirs = (device.made(club.home, one) for one in (club.id, other))
    assert ours.secret != theirs.secret
    assert device.own_ids(club.home) == {ours.id, theirs.id}


def test_damaged_secret_is_said_and_never_replaced(club: Club) -> None:
    device.made(club.home, club.id)
    secret_file(club).write_text("secret: 1\n")
    with pytest.raises(ShareError, match="put it back from a copy"):
        device.made(club.home, club.id)
    assert secret_file(club).read_text() == "secret: 1\n"


def appended(club: Club, key: str, told: Outcome) -> bool:
    ours = device.made(club.home, club.id)
    return device.append(club.kb, club.home, ours, key, line(told))


def test_job_that_is_shared_twice_makes_one_line(club: Club) -> None:
    assert appended(club, "1@now#0", vote("a"))
    assert not appended(club, "1@now#0", vote("b", number=2))
    assert appended(club, "2@now#0", vote("b", number=2))
    assert lines_in(club) == [line(vote("a")), line(vote("b", number=2))]
    assert device.next_number(club.kb, club.home, club.id) == 3


def test_number_that_another_window_took_is_refused(club: Club) -> None:
    appended(club, "1@now#0", vote("a", number=3))
    with pytest.raises(ShareError, match="another window"):
        appended(club, "2@now#0", vote("b", number=3))
    assert lines_in(club) == [line(vote("a", number=3))]


def test_full_disk_leaves_nothing_of_a_line_and_the_next_try_all_of_it(
    club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    appended(club, "1@now#0", vote("a"))
    before = lines_in(club)
    synced: list[int] = []

    def full(file: int) -> None:
        synced.append(file)
        if len(synced) == 2:  # the store's own line is on the disk by then
            raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("bot.store.device.os.fsync", full)
        with pytest.raises(ShareError, match="nothing was shared"):
            appended(club, "2@now#0", vote("b", number=2))
    assert lines_in(club) == before
    waiting = device.waiting(club.kb, club.home, club.id)
    assert waiting == {"2@now#0": line(vote("b", number=2))}
    assert appended(club, "2@now#0", vote("c", number=9))
    assert not appended(club, "2@now#0", vote("c", number=9))
    assert lines_in(club) == [*before, line(vote("b", number=2))]
    assert device.waiting(club.kb, club.home, club.id) == {}


def test_line_is_synced_before_it_counts(
    club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    device.made(club.home, club.id)
    synced: list[bytes] = []
    real = os.fsync

    def seen(file: int) -> None:
        real(file)
        if stat.S_ISREG(os.fstat(file).st_mode):
            synced.append(Path(f"/dev/fd/{file}").read_bytes())

    monkeypatch.setattr("bot.store.device.os.fsync", seen)
    appended(club, "1@now#0", vote("a"))
    assert synced[-1] == f"{line(vote('a'))}\n".encode()


def test_torn_end_is_cut_off_before_the_next_line(club: Club) -> None:
    appended(club, "1@now#0", vote("a"))
    path = outcomes_file(club.kb, device.made(club.home, club.id).id)
    with path.open("a") as file:
        file.write("1 outcome 2 page wheel-va")
    appended(club, "2@now#0", vote("b", number=2))
    assert lines_in(club) == [line(vote("a")), line(vote("b", number=2))]


def test_link_in_the_place_of_a_devices_file_is_not_followed(club: Club) -> None:
    path = outcomes_file(club.kb, device.made(club.home, club.id).id)
    path.parent.mkdir(parents=True)
    elsewhere = club.home / "precious.txt"
    elsewhere.write_text("mine\n")
    path.symlink_to(elsewhere)
    with pytest.raises(ShareError, match="no ordinary file"):
        appended(club, "1@now#0", vote("a"))
    assert elsewhere.read_text() == "mine\n"


# The pool


def put(club: Club, name: str, told: str) -> Path:
    path = outcomes_file(club.kb, name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(told)
    return path


@pytest.fixture
def pool(club: Club) -> Pool:
    """Six devices' files, taken in."""
    for name, told in six(Random(6)).items():
        put(club, name, told)
    found = Pool(club.kb, club.home)
    assert found.refresh().read == 6
    return found


def as_tallied(club: Club, pool: Pool) -> None:
    """The pool is what adding up all files anew would give."""
    folder = club.kb / "club" / "outcomes"
    files = {path.stem: path.read_text() for path in folder.glob("*.txt")}
    wanted = tally(files, clean=bool)
    for page in ("one", "two", "three"):
        assert pool.pool(page) == wanted.pool(page)
        assert pool.shown(page) == wanted.shown(page)
        assert pool.wordings(page, bool) == wanted.said.get(page, {})


def test_kept_tally_is_the_tally(club: Club, pool: Pool) -> None:
    as_tallied(club, pool)


def test_only_files_that_changed_are_read_again(
    club: Club, pool: Pool, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert pool.refresh().read == 0
    path = outcomes_file(club.kb, who(3))
    with path.open("a") as file:
        file.write(text(vote("new", page="one"), Wording(9, "two", "creaks")))
    outcomes_file(club.kb, who(5)).unlink()
    names: list[str] = []

    def noted(at: str | Path, most: int = files.MOST_BYTES) -> bytes:
        names.append(Path(at).name)
        return files.read_whole(at, most)

    monkeypatch.setattr("bot.store.pool.read_whole", noted)
    assert pool.refresh().read == 1
    assert [name for name in names if name != "forgotten.txt"] == [path.name]
    assert pool.pool("one")["new"] == 1
    as_tallied(club, pool)


def test_pool_that_nobody_put_anything_in_costs_no_file(club: Club) -> None:
    found = Pool(club.kb, club.home)
    assert not found.is_stale()
    found.refresh()
    assert found.pool(PAGE) == {}
    assert not found.path.exists()


@pytest.mark.parametrize(
    "harm", ["garbage", "cut", "row", "row not asked for", "edition", "tables"]
)
def test_damaged_cache_gives_nothing_wrong_and_is_made_anew(
    club: Club, pool: Pool, harm: str
) -> None:
    right = pool.pool("one")
    if harm == "garbage":
        pool.path.write_bytes(b"no database at all" * 400)
    elif harm == "cut":
        pool.path.write_bytes(pool.path.read_bytes()[:5000])
    else:
        row = """UPDATE page SET figures = '{"a": [900, 9]}'"""
        how = {
            "row": row,
            "row not asked for": row,
            "edition": "PRAGMA user_version = 99",
            "tables": "DROP TABLE device",
        }
        with sqlite3.connect(pool.path) as database:
            database.execute(how[harm])
        database.close()
    if harm != "row not asked for":
        assert pool.pool("one") in ({}, right)
    put(club, who(77), text(vote("a", page="one")))
    assert pool.refresh().read >= 1
    as_tallied(club, pool)
    assert rows_of(str(pool.path), "PRAGMA user_version") == [(EDITION,)]


def test_cache_that_another_window_writes_is_left_to_it(
    pool: Pool, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = pool.pool("one")
    monkeypatch.setattr("bot.store.pool.PATIENCE_S", 0.05)
    other = sqlite3.connect(pool.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    assert pool.refresh().read == 0
    other.execute("COMMIT")
    other.close()
    assert pool.pool("one") == right


def test_kept_wordings_are_looked_through_when_they_are_asked_for(pool: Pool) -> None:
    assert pool.wordings("one", bool).keys() == {"hisses", "goes soft"}
    found = pool.wordings("one", lambda words: words != "hisses")
    assert found.keys() == {"goes soft"}


def test_own_lines_are_not_in_the_pool_for_own_jobs_count_themselves(
    club: Club, pool: Pool
) -> None:
    before = pool.pool("one")
    appended(club, "1@now#0", vote("a", page="one"))
    pool.refresh()
    assert pool.pool("one") == before


def test_forgotten_lines_stay_away_when_old_files_come_back(
    club: Club, pool: Pool
) -> None:
    put(club, OURS, text(vote("mine", page="one"), Wording(2, "one", "squeaks")))
    pool.refresh()
    assert pool.pool("one")["mine"] == 1
    assert "squeaks" in pool.wordings("one", bool)
    old = club.kb.with_name("old")
    shutil.copytree(club.kb, old)
    gone = device.forgotten_file(club.kb, OURS)
    gone.parent.mkdir()
    gone.write_bytes(paper(SECRET, CLUB_ID))
    remark = club.kb / "club" / "remarks" / "cards" / f"{OURS}.txt"
    remark.parent.mkdir(parents=True)
    remark.write_text("to be dropped as well\n")
    assert sharing.brought_in(club) == 2
    assert not remark.exists()
    for _ in range(2):  # the lines come back, at last without the paper
        assert not outcomes_file(club.kb, OURS).exists()
        assert "mine" not in pool.pool("one")
        assert pool.wordings("one", bool).keys() == {"hisses", "goes soft"}
        shutil.rmtree(club.kb / "club")
        shutil.copytree(old / "club", club.kb / "club")
        sharing.brought_in(club)
    pool.path.unlink()
    pool.refresh()
    assert "mine" not in pool.pool("one")


def test_forgotten_device_is_not_counted_where_its_file_cannot_be_taken_off(
    club: Club, pool: Pool
) -> None:
    put(club, OURS, text(vote("mine", page="one")))
    gone = device.forgotten_file(club.kb, OURS)
    gone.parent.mkdir()
    gone.write_bytes(paper(SECRET, CLUB_ID))
    pool.refresh()
    assert outcomes_file(club.kb, OURS).exists()
    assert "mine" not in pool.pool("one")


def test_device_that_forgets_itself_keeps_nothing_of_what_it_was(club: Club) -> None:
    appended(club, "1@now#0", vote("a"))
    ours = device.forget(club.kb, club.home, club.id)
    assert ours
    assert not outcomes_file(club.kb, ours.id).exists()
    left = {path.name for path in (club.home / "club").iterdir()}
    assert left == {"sharing.lock"}
    assert device.forget(club.kb, club.home, club.id) is None


def test_paper_that_proves_nothing_forgets_nobody(club: Club, pool: Pool) -> None:
    before = pool.pool("one")
    gone = device.forgotten_file(club.kb, who(1))
    gone.parent.mkdir()
    gone.write_bytes(paper(SECRET, CLUB_ID))
    assert sharing.brought_in(club) == 0
    assert pool.pool("one") == before


# Consent, and what would leave


WORDS = (
    "one wheel is flat by morning",
    "the valve hisses, write to moss@example.org",
)


def closed(journal: Journal, card: str = PAGE, *more: e.Event) -> int:
    """A job closed on a card."""
    events = (
        e.TruckNamed("heron"),
        e.Described(WORDS[0], ((card, 0.9),), 0.1),
        e.CardChosen(card),
        e.RepairProposed("rebuild-the-wheel-valve"),
        e.RepairDone("rebuild-the-wheel-valve"),
        e.ShowedBefore(1, 1),
        e.CycleClean(),
        e.ProofEnded(),
        e.CauseNamed("split-diaphragm-in-the-wheel-valve"),
        *more,
        e.Recorded(
            "split-diaphragm-in-the-wheel-valve",
            "rebuild-the-wheel-valve",
            proved=True,
            helped=False,
            minutes=61.0,
            money=17.5,
        ),
    )
    number, job = journal.open_job(NOW), Job()
    for event in events:
        job = journal.record(number, job, (event,), NOW)
    return number


@pytest.fixture
def journal(club: Club) -> Iterator[Journal]:
    found = Journal(club.home)
    yield found
    found.close()


@pytest.fixture
def library(club: Club, journal: Journal) -> Iterator[KbLibrary]:
    found = KbLibrary(str(club.kb), str(club.home), journal)
    yield found
    found.close()


def offers(club: Club, journal: Journal, library: KbLibrary) -> tuple[Offer, ...]:
    return sharing.to_share(club, journal, library)


def test_consent_is_off_until_it_is_given_and_off_again_when_taken_back(
    club: Club,
) -> None:
    assert sharing.consent(club.home) == Consent()
    assert sharing.take_back(club.home) == Consent()
    assert not (club.home / "club").exists()
    sharing.give_consent(club.home)
    assert sharing.consent(club.home) == Consent(outcomes=True, words=False)
    sharing.give_consent(club.home, words=True)
    assert sharing.consent(club.home) == Consent(outcomes=True, words=True)
    sharing.take_back(club.home)
    assert sharing.consent(club.home) == Consent()


def test_damaged_consent_is_none(club: Club) -> None:
    sharing.give_consent(club.home, words=True)
    path = club.home / "club" / "consent.txt"
    path.write_text(path.read_text().replace("outcomes: yes", "outcomes: yes!"))
    assert sharing.consent(club.home) == Consent()


def test_what_would_leave_is_shown_letter_for_letter_and_leaves_so(
    club: Club, journal: Journal, library: KbLibrary
) -> None:
    closed(journal)
    (shown,) = offers(club, journal, library)
    page = (CARDS / f"{PAGE}.md").read_bytes()
    assert shown.line == (
        f"1 outcome 1 page {PAGE} rev {sha256(page).hexdigest()[:12]} cause "
        "split-diaphragm-in-the-wheel-valve repair rebuild-the-wheel-valve proved yes "
        "truck any/any month 2026-11 checks -"
    )
    with pytest.raises(ShareError, match="without consent"):
        sharing.share(club, [shown])
    assert not (club.kb / "club").exists()
    sharing.give_consent(club.home)
    assert sharing.share(club, [shown]) == 1
    assert lines_in(club) == [shown.line]
    assert offers(club, journal, library) == ()
    assert sharing.share(club, [shown]) == 0
    assert lines_in(club) == [shown.line]


def test_some_of_what_is_shown_may_be_kept_back(
    club: Club, journal: Journal, library: KbLibrary
) -> None:
    for _ in range(3):
        closed(journal)
    first, kept_back, last = offers(club, journal, library)
    sharing.give_consent(club.home)
    assert sharing.share(club, [first, last]) == 2
    (again,) = offers(club, journal, library)
    assert again.key == kept_back.key
    assert sharing.share(club, [again]) == 1
    assert len(lines_in(club)) == 3


def test_job_on_a_private_page_is_not_even_named(
    club: Club, journal: Journal, library: KbLibrary
) -> None:
    closed(journal, "wrens-own-wheel")
    assert library.card("wrens-own-wheel")
    assert offers(club, journal, library) == ()


def test_jobs_that_ended_before_the_day_are_left_out(
    club: Club, journal: Journal, library: KbLibrary
) -> None:
    closed(journal)
    assert sharing.to_share(club, journal, library, "2026-11-26") == ()
    assert len(sharing.to_share(club, journal, library, "2026-11-25")) == 1


def test_words_leave_by_two_leaves_alone_and_looked_through(
    club: Club, journal: Journal, library: KbLibrary
) -> None:
    closed(journal)  # its words are not kept
    closed(journal, PAGE, e.Told(WORDS[1]), e.WordsKept())
    sharing.give_consent(club.home)
    assert all(" outcome " in o.line for o in offers(club, journal, library))
    sharing.give_consent(club.home, words=True)
    shown = offers(club, journal, library)
    said = [o for o in shown if " wording " in o.line]
    assert [o.line for o in said] == [f"1 wording 3 page {PAGE} says {WORDS[0]}"]
    sharing.give_consent(club.home)
    with pytest.raises(ShareError, match="second yes"):
        sharing.share(club, shown)
    assert not (club.kb / "club").exists()
    sharing.give_consent(club.home, words=True)
    assert sharing.share(club, shown) == 3


def test_line_that_was_tampered_with_keeps_all_of_them_back(club: Club) -> None:
    sharing.give_consent(club.home, words=True)
    for bad in (f"{LINE} by Moss", f"1 wording 1 page {PAGE} says plate AB12 CDE"):
        with pytest.raises(ShareError):
            sharing.share(club, [Offer(1, "1@now#0", LINE), Offer(2, "2@now#0", bad)])
    assert not (club.kb / "club").exists()


def test_forgotten_device_shares_anew_under_another_name(
    club: Club, journal: Journal, library: KbLibrary
) -> None:
    assert "nothing is to forget" in sharing.forget(club)
    closed(journal)
    sharing.give_consent(club.home)
    shown = offers(club, journal, library)
    sharing.share(club, shown)
    ours = device.made(club.home, club.id)
    old = outcomes_file(club.kb, ours.id).read_text()
    assert "cannot be called back" in sharing.forget(club)
    assert lines_in(club) == []
    assert sharing.consent(club.home) == Consent()
    assert proves(ours.id, device.forgotten_file(club.kb, ours.id).read_bytes())
    put(club, ours.id, old)
    sharing.brought_in(club)
    assert lines_in(club) == []
    sharing.give_consent(club.home)
    sharing.share(club, offers(club, journal, library))
    assert lines_in(club) == [shown[0].line]
    assert not outcomes_file(club.kb, ours.id).exists()


def test_device_that_is_half_forgotten_shares_nothing_more(club: Club) -> None:
    ours = device.made(club.home, club.id)
    gone = device.forgotten_file(club.kb, ours.id)
    gone.parent.mkdir(parents=True)
    gone.write_bytes(paper(ours.secret, club.id))
    with pytest.raises(ShareError, match="forget again"):
        appended(club, "1@now#0", vote("a"))
    sharing.forget(club)
    assert appended(club, "1@now#0", vote("a"))


PLANTED = (
    "Tern Sandwort",
    "AB12 CDE",
    "51.50742, -0.12776",
    "moss@example.org",
    "/home/moss/heron",
    "07700 900123",
    "2026-11-25T10:31:07",
    "12 Marram Lane",
)


def planted_job(draw: Random, card: Card) -> tuple[Ended, Job, Truck]:
    """A job with what must never leave in every field that a person can fill."""

    def junk() -> str:
        return f"{draw.choice(PLANTED)} {draw.choice(PLANTED)}"

    check = draw.choice(card.checks)
    answer = draw.choice([junk(), draw.choice(check.findings).answer])
    cause = draw.choice([junk(), "", NOT_KNOWN, draw.choice(card.causes).id])
    repair = draw.choice([junk(), "", draw.choice(card.repairs).id])
    job = Job(
        truck=junk(),
        words=(junk(), junk()),
        told=(junk(),),
        lacking=(junk(),),
        named=junk(),
        card=card.id,
        answers=(
            Answer(check.id, answer, junk(), card.id, (junk(),), junk()),
            Answer(junk(), junk(), junk(), card.id),
        ),
        keeps_words=True,
    )
    at = draw.choice([NOW, "2019-02-28T23:59:59+14:00", junk()])
    flags = draw.random() < 0.5, draw.random() < 0.5
    ended = Ended(
        draw.randrange(10**6), at, junk(), cause, *flags, junk(), junk(), repair,
        draw.random(), draw.random(), junk(), keeps=True,
    )  # fmt: skip
    lorry = Truck(
        junk(),
        aboard=(junk(),),
        prices=((junk(), 61.7),),
        lacks=(junk(),),
        fitted=(junk(), draw.choice(("air brakes", "24 V"))),
        without=(junk(),),
    )
    return ended, job, lorry


def test_of_ten_thousand_jobs_nothing_that_was_planted_leaves(
    wheel_valve: Card,
) -> None:
    draw = Random(10_000)
    page = (CARDS / f"{PAGE}.md").read_bytes()
    causes = {cause.id for cause in wheel_valve.causes} | {NONE, UNKNOWN}
    repairs = {repair.id for repair in wheel_valve.repairs} | {NONE}
    pieces = {word.lower() for one in PLANTED for word in one.replace(",", "").split()}
    made, answered = 0, 0
    for _ in range(10_000):
        ended, job, lorry = planted_job(draw, wheel_valve)
        told = outcome_of(wheel_valve, page, ended, job, lorry)
        if told is None:
            continue
        said = line(told)
        words = said.split(" ")
        assert words[8] in causes, said
        assert words[10] in repairs, said
        assert not pieces.intersection(words), said
        assert not any(one in said for one in PLANTED), said
        made, answered = made + 1, answered + bool(told.checks)
    assert made > 5_000
    assert answered > 1_000


def test_wordings_with_plates_places_and_addresses_do_not_leave(
    wheel_valve: Card,
) -> None:
    draw = Random(1)
    free = "one wheel is flat by morning"
    for _ in range(300):
        planted = draw.choice(PLANTED[1:])
        said = draw.choice((f"{free}, {planted}", f"{planted} {free}"))
        job = Job(words=(said, free), keeps_words=True)
        bad, good = sharing.wordings_of(wheel_valve, job)
        assert good == Wording(1, PAGE, free)
        try:
            left = line(bad) if bad else ""
        except BotError:
            left = ""
        assert planted not in left


# What the pool may do


def known(told: Mapping[str, int]) -> Outcomes:
    """A pool of so many devices a cause, by way of their lines."""
    files = {
        who(hash((cause, n))): text(*(vote(cause or NONE, m) for m in (9, 10, 11)))
        for cause, many in told.items()
        for n in range(many)
    }
    return Outcomes(pool=tally(files).pool(PAGE))


@cache
def cards_of(kb: Path) -> tuple[Card, ...]:
    """Every fourth page."""
    paths = sorted(kb.glob("cards/*/*.md"))[::4]
    found = (read_card(path.read_text(), str(path)) for path in paths)
    return tuple(c for c in found if isinstance(c, Card) and len(c.causes) > 1)


def test_two_hundred_invented_devices_put_no_rarer_cause_on_top(kb: Path) -> None:
    """On every fourth page; `tools/poison.py` looks at all."""
    tried = 0
    for card in cards_of(kb):
        start = prior_of(card)
        first, most = start.ranked()[0]
        for lie in start.causes:
            if start.of(lie) < most:
                told = Outcomes(pool={first: 5 * MOST_VOTES, lie: 200 * MOST_VOTES})
                after = prior_of(card, told)
                assert after.ranked()[0][0] != lie, (card.id, lie)
                assert start.of(after.ranked()[0][0]) == most
                tried += 1
    assert tried > 100


def test_votes_may_choose_among_causes_that_the_author_thinks_alike_common(
    kb: Path,
) -> None:
    chosen = 0
    for card in cards_of(kb):
        start = prior_of(card)
        most = start.ranked()[0][1]
        alike = [cause for cause in start.causes if start.of(cause) == most]
        for cause in alike:
            after = prior_of(card, Outcomes(pool={cause: 5}))
            assert after.ranked()[0][0] == cause
            chosen += len(alike) > 1
    assert chosen > 10


def test_one_device_moves_no_cause_by_five_points(kb: Path) -> None:
    told = known({"a": 1}).pool["a"]
    assert told == MOST_VOTES
    for card in cards_of(kb):
        start = prior_of(card)
        for cause in (*start.causes, ""):
            after = prior_of(card, Outcomes(pool={cause: told}))
            moved = [abs(after.of(c) - start.of(c)) for c in start.causes]
            assert max(moved) < 0.05
            assert abs(after.none - start.none) < 0.05


def test_check_that_guards_a_life_comes_first_whatever_was_shared(kb: Path) -> None:
    """On a few pages; `tools/poison.py` looks at all."""
    first_step = tool("poison").first_step
    seen = 0
    for card in sorted(cards_of(kb), key=lambda card: len(card.causes))[:2]:
        guards = [check.id for check in card.checks if check.needs.first]
        for cause in prior_of(card).causes[-2:] if guards else ():
            assert first_step(card, Outcomes(pool={cause: 10**6})) == guards[0]
            seen += 1
    assert seen == 4


def test_check_that_guards_a_life_is_first_though_votes_make_a_repair_cheapest(
    wheel_valve: Card,
) -> None:
    """The last and dearest check, beside repairs that the votes speak for."""
    *others, last = (
        replace(check, needs=replace(check.needs, first=False))
        for check in wheel_valve.checks
    )
    guard = replace(last, needs=replace(last.needs, first=True))
    for cause in wheel_valve.causes[::3]:
        start = prior_of(wheel_valve, Outcomes(pool={cause.id: 10**6}))
        steps = []
        for check in (last, guard):
            card = replace(wheel_valve, checks=(*others, check))
            still = Open(
                tuple((card, one) for one in card.checks),
                tuple((card, repair) for repair in card.repairs),
            )
            steps.append(propose(Case((card,), (1.0,)), start, still).step)
        assert steps[0] != guard.id
        assert steps[1] == guard.id


def test_what_others_shared_reaches_the_belief_of_a_job(
    club: Club, journal: Journal
) -> None:
    def split(library: KbLibrary) -> float:
        card = library.card(PAGE)
        assert card
        believed = prior_of(card, library.outcomes(PAGE))
        return believed.of("split-diaphragm-in-the-wheel-valve")

    before = split(KbLibrary(str(club.kb), str(club.home), journal))
    for n in range(20):
        put(club, who(n), text(vote("split-diaphragm-in-the-wheel-valve")))
    assert split(KbLibrary(str(club.kb), str(club.home), journal)) > before + 0.05


def test_question_reads_no_devices_file(
    club: Club, journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(club, who(1), text(vote("split-diaphragm-in-the-wheel-valve")))
    Pool(club.kb, club.home).refresh()

    def never(*_: object) -> object:
        raise AssertionError("a device's file was read")

    monkeypatch.setattr("bot.store.pool.read", never)
    monkeypatch.setattr(Pool, "refresh", never)
    found = KbLibrary(str(club.kb), str(club.home), journal).outcomes(PAGE)
    assert found.pool == {"split-diaphragm-in-the-wheel-valve": 1}


def test_all_works_where_the_store_cannot_keep_the_pool(
    club: Club, journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(club, who(1), text(vote("split-diaphragm-in-the-wheel-valve")))

    def refused(*_: object, **__: object) -> object:
        raise sqlite3.OperationalError("unable to open database file")

    monkeypatch.setattr("bot.store.pool._opened", refused)
    found = KbLibrary(str(club.kb), str(club.home), journal).outcomes(PAGE)
    assert found.pool == {}
