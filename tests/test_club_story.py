"""The whole story: from a job on *Heron* to a vetted page that others use, and back."""

import io
import json
from pathlib import Path

import pytest

from bot.cards.template import fresh_card
from bot.cli.main import main
from bot.desk.library import KbLibrary
from bot.diagnose.belief import prior
from bot.diagnose.case import Case
from bot.store.journal import Journal
from tests.clubs import a_kb

PAGE = "cards/brakes/horn-croaks.md"
SAID = "the horn croaks and then stays silent when it rains"
PHRASES = {"moss": "a long phrase for Moss", "wren": "a long phrase for Wren"}


def written_out() -> str:
    """The page as its author fills it: two causes, neither commoner than the other."""
    text = fresh_card(system="brakes").replace("share: private", "share: club")
    for was, now in (
        ("# The complaint in one line", "# The horn croaks"),
        ("how one person says it", SAID),
        ("how another says it", "the horn is dead in the wet"),
        ("First cause", "Water in the horn"),
        ("Second cause (rare)", "A chafed wire (usual)"),
        ("Yes, it moves: sure B", "Yes, it is chafed: sure B"),
        ("No, it is firm", "No, it is whole"),
    ):
        assert was in text
        text = text.replace(was, now, 1)
    return text


class Members:
    """Each with a knowledge base and a store of his own, at the command line."""

    def __init__(
        self,
        root: Path,
        capsys: pytest.CaptureFixture[str],
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        self.root, self.capsys, self.patch = root, capsys, monkeypatch
        for name in ("tern", "moss", "wren", "sedge"):
            a_kb(root / name / "kb")

    def says(self, who: str, *words: str, typed: str = "") -> str:
        """One command of a member; what it prints."""
        folders = ("--kb", f"{self.root / who / 'kb'}", "--home", self.home(who))
        self.patch.setattr("sys.stdin", io.StringIO(typed or f"{PHRASES.get(who)}\n"))
        status = main([*words, *folders])
        told = self.capsys.readouterr()
        assert status in (0, 3), told.err
        return told.out

    def club(self, who: str, *words: str) -> dict[str, object]:
        """An act of the club, as a program reads it."""
        return dict(json.loads(self.says(who, "club", *words, "--json")))

    def home(self, who: str) -> str:
        return str(self.root / who / "home")

    def pack(self, who: str, name: str, *words: str) -> str:
        file = str(self.root / name)
        self.club(who, "pack", file, *words)
        return file

    def standing(self, who: str) -> str:
        return str(
            json.loads(self.says(who, "card", "horn-croaks", "--json"))["standing"]
        )

    def priors(self, who: str) -> dict[str, float]:
        """What a new job believes of the page's causes before anything is looked at."""
        home = self.home(who)
        library = KbLibrary(str(self.root / who / "kb"), home, Journal(Path(home)))
        card = library.card("horn-croaks")
        assert card is not None
        belief = prior(Case((card,), (1.0,)), library.outcomes)
        library.close()
        return dict(belief.ranked())


def test_from_a_job_to_a_vetted_page_in_other_hands_and_back(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    all_of_them = Members(tmp_path, capsys, monkeypatch)
    says, club, pack = all_of_them.says, all_of_them.club, all_of_them.pack

    # Tern's horn croaks; no page fits; the job becomes a draft, and then a page
    says("tern", "truck", "name", "Heron")
    says("tern", "talk", "--new", typed=f"{SAID}\n0\n1\n")
    says("tern", "new", "--from", "1", "horn-croaks")
    page = tmp_path / "tern" / "kb" / PAGE
    assert SAID in page.read_text()
    assert "Heron" not in page.read_text()
    page.write_text(written_out())
    drafted = pack("tern", "draft.pack", "horn-croaks")

    # Moss founds the club and admits Wren; both must agree
    club("moss", "begin", "Marram", "Coast", "Truck", "Club", "--as", "Moss")
    line = str(club("wren", "key", "Wren")["line"])
    club("moss", "admit", line)
    club("moss", "needs", "2")
    club("moss", "take", drafted, "--yes")
    club("moss", "remark", "horn-croaks", "check 1: say which seal")
    club("moss", "sign", "horn-croaks")
    assert all_of_them.standing("moss").startswith("vetted (Moss, revision 1, ")

    print_ = str(club("moss")["club"])[28:32]

    first = pack("moss", "to-wren.pack", "horn-croaks")
    club("wren", "join", first, "--fingerprint", print_, "--as", "Wren")
    assert club("wren", "agree")["in force"] is True
    assert "say which seal" in str(club("wren", "remarks", "horn-croaks"))
    club("wren", "sign", "horn-croaks")
    club("moss", "take", pack("wren", "back.pack", "horn-croaks"), "--yes")
    vetted = all_of_them.standing("moss")
    assert vetted.startswith("vetted (Moss and Wren, revision 1, ")

    # Sedge, elsewhere, joins, and works a job by it; it was the wire
    given = pack("moss", "club.pack", "horn-croaks")
    club("sedge", "join", given, "--fingerprint", print_, "--as", "Sedge")
    assert all_of_them.standing("sedge") == vetted
    told = says("sedge", "talk", "--new", typed=f"{SAID}\n1\n1\n1\n1\n1\n1\n1\n")
    assert "(vetted: Moss and Wren" in told
    assert "Check (vetted): Look at the second thing" in told
    assert "Cause: A chafed wire. Repair: Mend the\nsecond, proved" in told

    # he shares how it ended, and nothing else
    assert club("sedge", "outcomes")["consent"] == {"outcomes": False, "words": False}
    club("sedge", "outcomes", "yes")
    lines = club("sedge", "outcomes", "share", "--yes")["lines"]
    assert isinstance(lines, list)
    assert len(lines) == 1
    assert "cause a-chafed-wire" in lines[0]
    assert "horn croaks" not in lines[0]
    back = pack("sedge", "outcomes.pack", "horn-croaks", "--outcomes")

    # and on the first machine the causes stand in another order
    club("tern", "join", back, "--fingerprint", print_, "--as", "Tern")
    believed = all_of_them.priors("tern")
    assert all_of_them.standing("tern") == vetted
    assert believed["a-chafed-wire"] > believed["water-in-the-horn"]
    alone = all_of_them.priors("moss")
    assert alone["a-chafed-wire"] == pytest.approx(alone["water-in-the-horn"])


def refused(
    members: Members, capsys: pytest.CaptureFixture[str], who: str, *words: str
) -> str:
    """What an act of the club is refused with."""
    folders = ("--kb", str(members.root / who / "kb"), "--home", members.home(who))
    members.patch.setattr("sys.stdin", io.StringIO(f"{PHRASES[who]}\n"))
    assert main(["club", *words, *folders]) == 1
    return capsys.readouterr().err


def test_a_keeper_is_told_what_to_do(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    them = Members(tmp_path, capsys, monkeypatch)
    them.club("moss", "begin", "Marram", "Coast", "Truck", "Club", "--as", "Moss")
    line = str(them.club("wren", "key", "Wren")["line"])
    told = str(them.club("moss", "admit", line)["did"])
    assert "Reviewers: Moss, Wren; 1 must agree on a page" in told

    assert "every reviewer is needed" in str(them.club("moss", "needs", "2")["did"])
    alone = ("remove", "Moss", "--why", "x")
    assert "admit another" not in refused(them, capsys, "moss", "remove", "Rush")
    them.club("moss", *alone)
    assert "did you mean 'brake-drags'" in refused(
        them, capsys, "moss", "sign", "brake-drgas"
    )
    assert "say why" in refused(them, capsys, "moss", "withdraw", "brake-drags")


def test_a_withdrawn_page_says_so_wherever_it_is_shown(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    them = Members(tmp_path, capsys, monkeypatch)
    them.club("moss", "begin", "Marram", "Coast", "Truck", "Club", "--as", "Moss")
    them.club("moss", "withdraw", "brake-drags", "--why", "wrong torque")
    hot = "a wheel gets hot and stays braked"

    card = them.says("moss", "card", "brake-drags")
    assert card.index("WITHDRAWN: wrong torque.") < card.index("MAY IT MOVE")
    assert "WITHDRAWN, do not work by it" in them.says("moss", "ask", hot)
    told = them.says("moss", "talk", "--new", typed=f"{hot}\n1\n")
    assert "(withdrawn: wrong torque)" in told
    assert "do not work by it" in " ".join(told.split())
    assert "Check (withdrawn):" in told
    assert "brake-drags  " in them.says("moss", "cards")
    assert "withdrawn" in them.says("moss", "cards")
