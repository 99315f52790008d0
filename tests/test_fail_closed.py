"""What keeps people safe does not go away with a file: it is said, and it holds."""

import os
import re
import shutil
import sqlite3
from pathlib import Path

import pytest

from bot.cli.main import Exit, main
from bot.desk import shelf
from bot.desk.asking import Asked, asked
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.mend import mend
from bot.job import events as e
from bot.match.danger import Band
from bot.model.card import Drive
from bot.store.index import CardIndex
from bot.store.journal import Journal
from bot.store.scan import RULES, least

NOW = "2026-11-25T10:00:00+00:00"
NO_BRAKES = "the brakes do nothing, pedal goes to the floor"
GOOD = (Path(__file__).parent / "cards" / "drain-left-open.md").read_text()


@pytest.fixture
def small(tmp_path: Path, kb: Path) -> Path:
    """A knowledge base with all stop rules and one page."""
    folder = tmp_path / "kb"
    shutil.copytree(kb / RULES, folder / RULES)
    for name in ("words.yaml", "senses.yaml", "speech.yaml"):
        shutil.copy(kb / name, folder)
    (folder / "cards" / "air-supply").mkdir(parents=True)
    (folder / "cards" / "air-supply" / "drain-left-open.md").write_text(GOOD)
    return folder


def ask(kb: Path, tmp_path: Path, words: str = NO_BRAKES) -> Asked:
    home = tmp_path / "home"
    home.mkdir(exist_ok=True)
    return asked(words, str(kb), str(home))


def raised(found: Asked) -> list[str]:
    return [rule.id for rule, hit in found.stops if hit.band is Band.SURE]


def opened(kb: Path, tmp_path: Path) -> Conversation:
    home = tmp_path / "store"
    home.mkdir(exist_ok=True)
    journal = Journal(home)
    library = KbLibrary(str(kb), str(home), journal)
    return Conversation(library, journal, lambda: NOW, journal.latest_open())


def test_the_least_set_is_the_pages_of_the_project(kb: Path) -> None:
    assert len(least()) == 8
    for rule, path in least().items():
        assert Path(path).read_text() == (kb / RULES / f"{rule}.md").read_text()


def test_a_whole_knowledge_base_needs_no_stand_in(small: Path, tmp_path: Path) -> None:
    assert ask(small, tmp_path).faults == ()


def gone(path: Path) -> None:
    path.unlink()


def renamed(path: Path) -> None:
    path.rename(path.with_name("other-name.md"))


def emptied(path: Path) -> None:
    path.write_bytes(b"")


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:300])


def garbled(path: Path) -> None:
    path.write_bytes(b"\xff\xfe\x00" + path.read_bytes())


def looped(path: Path) -> None:
    path.unlink()
    path.symlink_to(path.name)


@pytest.mark.parametrize("hurt", [gone, renamed, emptied, cut_short, garbled, looped])
@pytest.mark.parametrize("rule", ["no-brakes"])
def test_no_brakes_stops_whatever_became_of_its_page(
    hurt: object, rule: str, small: Path, tmp_path: Path
) -> None:
    assert callable(hurt)
    hurt(small / RULES / f"{rule}.md")
    found = ask(small, tmp_path)
    assert rule in raised(found)
    assert any(f"the built-in ones stand in: {rule}" in said for said in found.faults)
    again = ask(small, tmp_path)
    assert rule in raised(again)
    assert again.faults == found.faults


@pytest.mark.parametrize("hurt", [gone, renamed])
def test_a_file_that_is_gone_is_missed_and_said(
    hurt: object, small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A stop rule that is not built in, a page: whatever the contents list."""
    assert callable(hurt)
    list(mend(small))
    assert ask(small, tmp_path).faults == ()
    rules = (path for path in (small / RULES).glob("*.md") if path.stem not in least())
    card = small / "cards" / "air-supply" / "drain-left-open.md"
    for path in (next(rules), card):
        kept = path.read_bytes()
        hurt(path)
        (said,) = (s for s in ask(small, tmp_path).faults if "belong here" in s)
        assert path.name in said
        words = ["--kb", str(small), "--home", str(tmp_path), "ask", "it hisses"]
        assert main(words) == Exit.NOT_WHOLE
        assert "belong here and are gone" in capsys.readouterr().err
        path.with_name("other-name.md").unlink(missing_ok=True)
        path.write_bytes(kept)
        assert ask(small, tmp_path).faults == ()


def test_a_page_made_milder_or_deaf_takes_nothing_from_the_built_in_rule(
    small: Path, tmp_path: Path
) -> None:
    page = small / RULES / "no-brakes.md"
    signs = "\n".join(f"  - a purple noise number {n}" for n in range(10))
    text = re.sub(r"signs:\n(  - .*\n)+", f"signs:\n{signs}\n", page.read_text())
    page.write_text(text.replace("do not move", "no limit"))
    assert not ask(small, tmp_path, "purple noise").faults
    found = ask(small, tmp_path)
    assert "no-brakes" in raised(found)
    talk = opened(small, tmp_path)
    talk.open()
    talk.hear(NO_BRAKES)
    assert talk.view.drive is Drive.DO_NOT_MOVE


@pytest.mark.parametrize("hurt", [gone, emptied, garbled])
def test_without_words_what_may_be_a_built_in_rule_stops(
    hurt: object, small: Path, tmp_path: Path
) -> None:
    assert callable(hurt)
    for name in ("senses.yaml", "speech.yaml"):
        hurt(small / name)
    found = ask(small, tmp_path, "no brakes, pedal goes to the floor")
    assert "no-brakes" in raised(found)
    assert any("senses.yaml" in said for said in found.faults)


def test_contents_with_a_mistake_are_named_by_line(small: Path, tmp_path: Path) -> None:
    (small / "contents.txt").write_text("cards/../../etc/passwd\n")
    (said,) = ask(small, tmp_path).faults
    assert "contents.txt:1: not a path" in said


def test_a_page_put_back_takes_its_place_again(
    small: Path, kb: Path, tmp_path: Path
) -> None:
    page = small / RULES / "no-brakes.md"
    page.unlink()
    assert ask(small, tmp_path).faults
    shutil.copy(kb / RULES / "no-brakes.md", page)
    found = ask(small, tmp_path)
    assert found.faults == ()
    assert raised(found) == ["no-brakes"]


@pytest.mark.parametrize("name", ["ear.txt", "words.yaml", "speech.yaml"])
def test_a_missing_ear_or_words_are_said(
    name: str, small: Path, tmp_path: Path
) -> None:
    path = small / RULES / name if name == "ear.txt" else small / name
    path.unlink()
    found = ask(small, tmp_path)
    assert any(name in said and "missing" in said for said in found.faults)
    assert "no-brakes" in raised(found)


def test_no_rules_at_all_leave_the_least_set(small: Path, tmp_path: Path) -> None:
    shutil.rmtree(small / RULES)
    (said, *_) = ask(small, tmp_path).faults
    assert all(rule in said for rule in least())
    assert "fire-or-smoke" in raised(ask(small, tmp_path, "flames under the cab"))


def test_one_link_to_itself_costs_itself_alone(small: Path, tmp_path: Path) -> None:
    (small / "cards" / "air-supply" / "loop.md").symlink_to("loop.md")
    (small / "cards" / "loop").symlink_to("loop")
    (small / "cards" / "air-supply" / "nowhere.md").symlink_to("gone.md")
    found = ask(small, tmp_path, "pump runs all night")
    assert [card.card for card in found.ranking.cards] == ["drain-left-open"]
    told = " ".join(found.faults)
    assert all(name in told for name in ("loop.md", "cards/loop", "nowhere.md"))


def test_what_was_left_out_is_in_the_exit_status(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["--kb", str(small), "--home", str(tmp_path / "h")]
    assert main([*where, "ask", "hiss"]) == Exit.OK
    (small / RULES / "no-brakes.md").unlink()
    assert main([*where, "ask", "hiss"]) == Exit.NOT_WHOLE
    assert "stand in: no-brakes" in capsys.readouterr().err
    (small / "cards" / "air-supply" / "bad.md").write_text("no page")
    assert main([*where, "cards"]) == Exit.NOT_WHOLE


def test_an_open_job_keeps_a_stop_rule_whose_page_is_gone(
    small: Path, tmp_path: Path
) -> None:
    talk = opened(small, tmp_path)
    talk.open()
    talk.hear("the hub glows and smokes, too hot to touch")
    rule = talk.job.stops[0]
    title = talk.view.rules[0].title
    assert rule not in least()
    (small / RULES / f"{rule}.md").unlink()
    again = opened(small, tmp_path)
    shown = str(again.open())
    assert title in shown
    assert again.view.rules[0].do_now == talk.view.rules[0].do_now
    assert again.view.ledger.drive is talk.view.ledger.drive is Drive.DO_NOT_MOVE


def test_a_stop_rule_made_milder_does_not_loosen_an_open_job(
    small: Path, tmp_path: Path
) -> None:
    talk = opened(small, tmp_path)
    talk.open()
    talk.hear(NO_BRAKES)
    path = small / RULES / "no-brakes.md"
    text = path.read_text()
    assert "**May it move:** do not move." in text
    path.write_text(text.replace("move:** do not move", "move:** drive with care"))
    again = opened(small, tmp_path)
    assert again.view.ledger.drive is Drive.DO_NOT_MOVE


def test_a_rule_that_was_never_kept_holds_the_truck(
    small: Path, tmp_path: Path
) -> None:
    """Jobs of earlier editions kept no words."""
    talk = opened(small, tmp_path)
    talk._record(e.Described("x", (), 1.0))
    journal = talk._journal
    talk.job = journal.record(
        talk.number, talk.job, (e.StopRaised(("long-gone",)),), NOW
    )
    assert "whose page is not here" in str(talk.open())
    assert talk.view.ledger.drive is Drive.DO_NOT_MOVE


def test_a_finding_stops_though_the_page_of_its_rule_is_gone(
    small: Path, tmp_path: Path
) -> None:
    page = small / "cards" / "air-supply" / "drain-left-open.md"
    stop = "B. Stop: [the tank is loose](../../stop-rules/tank-loose.md)."
    page.write_text(
        GOOD.replace(
            "No, nothing: not A; likely B.", f"No, nothing: not A; likely {stop}"
        )
    )
    talk = opened(small, tmp_path)
    talk.open()
    talk._record(e.Described("x", (), 1.0), e.CardChosen("drain-left-open"))
    talk._record(e.CheckProposed("feel-under-the-drain"))
    talk.hear("2")
    assert talk.job.stop == ("tank-loose",)
    assert talk.view.rules[0].title.startswith("The tank is loose: the page of this")
    assert talk.view.ledger.drive is Drive.DO_NOT_MOVE


def test_a_full_disk_takes_no_question_away(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The index is then made for this time alone."""
    real = shelf._current

    def full(index: CardIndex, kb: str, told: shelf.Told) -> CardIndex:
        (_, _, file) = index._database.execute("PRAGMA database_list").fetchone()
        if file:
            raise sqlite3.OperationalError("database or disk is full")
        return real(index, kb, told)

    monkeypatch.setattr(shelf, "_current", full)
    assert raised(ask(small, tmp_path)) == ["no-brakes"]


def test_a_store_that_cannot_be_written_says_so_at_once(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(small, tmp_path)
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert "Nothing can be saved here" in str(opened(small, tmp_path).open())
