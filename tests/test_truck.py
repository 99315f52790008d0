"""The keeper's note of the truck, and what it changes in the cost of a repair."""

from pathlib import Path

import pytest

from bot.cards.truck import read_truck, write_truck
from bot.cli.main import main
from bot.diagnose.cost import PRICE_MINUTES, WAIT_MINUTES, part_cost
from bot.model.card import Duration, Part, PartChoice, Price
from bot.model.truck import Rather, Truck, Where, out_of_reach

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
    path = tmp_path / "truck.yaml"
    path.write_text("name: [Heron\n")
    assert chock(tmp_path, "aboard", "hose") == 1
    assert "truck.yaml:" in capsys.readouterr().err
    assert path.read_text() == "name: [Heron\n"


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
