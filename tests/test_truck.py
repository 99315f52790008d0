"""The keeper's note of the truck, and what it changes in the cost of a repair."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from bot.cards.truck import read_truck, write_truck
from bot.cli.main import main
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.truck import in_use, keep, note, trucks, use
from bot.diagnose.cost import PRICE_MINUTES, WAIT_MINUTES, part_cost
from bot.model.card import Duration, Part, PartChoice, Price
from bot.model.truck import Rather, Truck, Where, out_of_reach
from bot.store.journal import Journal
from tests.seeds import seed

KIT = PartChoice("wheel valve kit", Price.DEAR)
USED = PartChoice("used valve", Price.CHEAP)
HERON = Truck("Heron")

WHOLE = Truck(
    "Heron",
    Where.AT_HOME,
    Rather.MONEY,
    ("sealing ring", "hose: long"),
    (("wheel valve kit", 85.0), ("belt", 12.5)),
    (("wheel valve kit", Duration("3", "days")),),
    ("meter", "torque wrench"),
    weights=(("tyre", 110.0), ("belt", 0.4)),
    since=date(2024, 5, 1),
    yearly_km=6000.0,
)


@pytest.mark.parametrize("truck", [HERON, WHOLE])
def test_note_that_was_written_reads_the_same(truck: Truck) -> None:
    assert read_truck(write_truck(truck), "truck.yaml") == truck


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("where: on the moon", "'on the moon' is not known"),
        ("prices:\n  - kit: lots", "no sum of money; write e.g. 85"),
        ("waits:\n  - kit: soon", "no time; write e.g. 4 h or 3 days"),
        ("colour: red", "'colour' is not known"),
        ("weights:\n  - tyre: heavy", "no weight in kg; write e.g. 12 or 0.5"),
        ("since: spring", "'spring' is no date"),
        ("km a year: far", "'far' is no distance; write e.g. 6000"),
        ("km a year: 0", "'0' is no distance"),
    ],
)
def test_mistake_in_the_note_is_named_at_its_line(line: str, says: str) -> None:
    text = f"name: Heron\nwhere: at home\nrather: both alike\n{line}\n"
    text = text.replace("where: at home\n", "") if line.startswith("where") else text
    found = read_truck(text, "truck.yaml")
    assert isinstance(found, tuple)
    assert any(says in fault.says for fault in found), found


def test_without_a_note_a_part_costs_its_price_word() -> None:
    assert part_cost(Part((KIT,))) == PRICE_MINUTES[Price.DEAR]
    assert part_cost(Part((KIT, USED))) == PRICE_MINUTES[Price.CHEAP]


def test_part_that_is_not_aboard_is_a_wait_on_the_trail() -> None:
    there = part_cost(Part((KIT,)), Truck("Heron", aboard=("valve kit",)))
    gone = part_cost(Part((KIT,)), HERON)
    assert gone == there + WAIT_MINUTES[Price.DEAR]


def test_substitute_that_is_aboard_is_taken() -> None:
    carried = Truck("Heron", aboard=("used valves",))
    assert part_cost(Part((KIT, USED)), carried) == PRICE_MINUTES[Price.CHEAP]


def test_at_home_waiting_weighs_little_and_own_price_counts() -> None:
    home = Truck("Heron", Where.AT_HOME, prices=(("valve kit", 100.0),))
    assert part_cost(Part((KIT,)), home) == pytest.approx(40 + 0.02 * 2880)


def test_who_would_rather_spend_time_weighs_money_more() -> None:
    aboard = ("wheel valve kit",)
    costs = [
        part_cost(Part((KIT,)), Truck("Heron", rather=r, aboard=aboard)) for r in Rather
    ]
    assert costs == sorted(costs, reverse=True)
    assert len(set(costs)) == 3


def chock(home: Path, *words: str) -> int:
    return main(["--home", str(home), "truck", *words])


def test_truck_is_noted_in_plain_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert chock(tmp_path) == 1
    assert "begin with: chock truck name Heron" in capsys.readouterr().err
    assert chock(tmp_path, "name", "Heron") == 0
    assert chock(tmp_path, "where", "home") == 0
    assert chock(tmp_path, "rather", "money", "than", "time") == 0
    assert chock(tmp_path, "aboard", "sealing", "ring") == 0
    capsys.readouterr()
    assert chock(tmp_path) == 0
    shown = capsys.readouterr().out
    assert "Heron: at home; rather money than time." in shown
    assert "Aboard: sealing ring." in shown
    assert chock(tmp_path, "lacks", "meter") == 0
    assert chock(tmp_path) == 0
    assert "Lacks: meter." in capsys.readouterr().out
    assert chock(tmp_path, "aboard", "meter") == 0
    assert chock(tmp_path) == 0
    assert "meter" not in capsys.readouterr().out
    assert chock(tmp_path, "used", "sealing", "rings") == 0
    assert chock(tmp_path, "used", "sealing ring") == 1
    assert "is not noted as aboard" in capsys.readouterr().err
    assert chock(tmp_path, "where", "nowhere") == 1
    assert "say one of 'at home', 'on the trail'" in capsys.readouterr().err


def test_damaged_note_is_named_and_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "trucks" / "heron.yaml"
    path.parent.mkdir()
    for text in (b"name: [Heron\n", b"name: H\xe9ron\n"):
        path.write_bytes(text)
        assert chock(tmp_path, "aboard", "hose") == 1
        assert "heron.yaml:" in capsys.readouterr().err
        assert path.read_bytes() == text


def test_two_trucks_have_a_note_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert chock(tmp_path, "name", "Heron") == 0
    assert chock(tmp_path, "aboard", "belt") == 0
    assert chock(tmp_path, "new", "Old Badger") == 0
    assert chock(tmp_path, "new", "old badger") == 1
    assert "there is a note of 'old-badger'" in capsys.readouterr().err
    assert chock(tmp_path, "since", "2024-05-01") == 0
    assert chock(tmp_path, "yearly", "1000", "miles") == 0
    capsys.readouterr()
    assert chock(tmp_path) == 0
    shown = capsys.readouterr().out
    assert "Old Badger: on the trail" in shown
    assert "Goes about 1,609 km a year." in shown
    assert "Jobs are written down since 2024-05-01." in shown
    assert "Other trucks: heron." in shown
    assert "belt" not in shown
    assert chock(tmp_path, "use", "Heron") == 0
    capsys.readouterr()
    assert chock(tmp_path) == 0
    assert "Aboard: belt." in capsys.readouterr().out
    assert chock(tmp_path, "use", "Otter") == 1
    assert "there is: heron, old-badger" in capsys.readouterr().err
    assert chock(tmp_path, "yearly", "a lot") == 1
    assert "write e.g. 3000 km, or 1900 miles" in capsys.readouterr().err


def test_while_nobody_said_which_of_two_none_is_meant(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("heron", "badger"):
        keep(str(tmp_path), name, Truck(name.title()))
    assert in_use(str(tmp_path)) == ""
    assert chock(tmp_path) == 1
    assert "chock truck use NAME; there is: badger, heron" in capsys.readouterr().err


def test_the_only_note_of_before_moves_in_once(tmp_path: Path) -> None:
    text = write_truck(replace(HERON, aboard=("belt",)))
    Path(tmp_path, "truck.yaml").write_text(text)
    assert note(str(tmp_path)) == replace(HERON, aboard=("belt",))
    assert list(trucks(str(tmp_path))) == ["heron"]
    assert not Path(tmp_path, "truck.yaml").exists()


def test_the_only_note_is_read_where_it_is_in_a_store_that_takes_nothing(
    tmp_path: Path,
) -> None:
    Path(tmp_path, "truck.yaml").write_text(write_truck(HERON))
    Path(tmp_path, "trucks").write_text("no folder can be made here")
    assert note(str(tmp_path)) == HERON


def test_a_job_is_about_the_truck_in_use_and_keeps_it(kb: Path, tmp_path: Path) -> None:
    """A hand lever is fitted to one truck alone; the job keeps its truck."""
    home = seed(tmp_path)
    keep(str(home), "heron", Truck("Heron", fitted=("hand lever",)))
    keep(str(home), "badger", Truck("Badger"))
    use(str(home), "heron")
    journal = Journal(home)
    library = KbLibrary(str(kb), str(home), journal)
    talk = Conversation(library, journal, lambda: "2026-11-25T10:00:00+00:00")
    talk.open()
    talk.hear("wheel valve stuck open")
    assert talk.job.truck == "heron"
    use(str(home), "badger")
    later = KbLibrary(str(kb), str(home), journal)
    entry = journal.entry(talk.number)
    talk.leave()
    again = Conversation(later, journal, lambda: "2026-11-26T10:00:00+00:00", entry)
    assert again.view.truck == Truck("Heron", fitted=("hand lever",))


@pytest.mark.parametrize(
    ("tools", "lacking", "gone"),
    [
        (("meter",), ("multimeter",), False),
        (("tyre gauge",), ("gauge",), True),
        (("meter or test lamp",), ("meter",), False),
        (("meter or test lamp",), ("meter", "test lamp"), True),
        (("dial gauge if at hand",), ("dial gauge",), False),
        ((), ("meter",), False),
    ],
)
def test_tool_is_out_of_reach_when_none_of_its_forms_is_here(
    tools: tuple[str, ...], lacking: tuple[str, ...], gone: bool
) -> None:
    assert out_of_reach(tools, lacking) is gone
