"""Sharing by git: real repositories, on a stick too; nothing is lost, nothing leaks."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import pytest

from bot.club import names
from bot.club.joined import AS_THEY_ARE, aside_path, join
from bot.desk import exchange as desk
from bot.desk.asides import asides, drop, named, use
from bot.desk.exchange import by_kind, clone, exchange, recover
from bot.desk.gate import PRIVATE, Checks
from bot.desk.gitround import Exchanged
from bot.model.place import BotError
from bot.store import gitrun, worktree
from bot.store.git import Git, Who, blob_name, remote_of
from bot.store.gitrun import GitError, need_git
from bot.store.lock import alone
from tests.tooling import tool

if TYPE_CHECKING:
    from _typeshed import TraceFunction

ROOT = Path(__file__).parent.parent
PAGE = "cards/brakes/abs-lamp-on.md"
SIDE = "cards/brakes/abs-lamp-on.wordings.txt"
OUTCOMES = f"club/outcomes/{'a' * 32}.txt"
SIGNED = f"club/sign-offs/cards/brakes/abs-lamp-on/{'1' * 12}.{'2' * 12}.json"
NOTE = """---
kind: field note
about: abs-lamp-on
seen: 2026-11-21
share: {share}
authors:
  - Tern
---

# Lamp on after the ford

{words}
"""


@pytest.fixture(autouse=True)
def _disk_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test cuts the power: a process that dies leaves all it wrote."""
    assert "core.fsync=all" in gitrun.SETTINGS
    settings = (
        one.replace("core.fsync=all", "core.fsync=none") for one in gitrun.SETTINGS
    )
    monkeypatch.setattr("bot.store.git.SETTINGS", tuple(settings))
    monkeypatch.setattr(os, "fsync", lambda _: None)


class Member:
    """Somebody with a knowledge base of his own."""

    def __init__(self, kb: Path, pen: str, remote: Path) -> None:
        self.kb = kb
        self.who = Who(pen, pen.lower())
        self.remote = str(remote)

    @property
    def home(self) -> str:
        """The store of his own."""
        return f"{self.kb}-home"

    def use(self, name: str) -> None:
        """Put a text that was set aside in its page's place."""
        use(str(self.kb), self.home, named(str(self.kb), name))

    def share(self, checks: Checks | None = None) -> Exchanged:
        return exchange(self.kb, self.remote, self.who, checks or Checks())

    def read(self, path: str) -> str:
        return (self.kb / path).read_text()

    def write(self, path: str, text: str) -> None:
        (self.kb / path).parent.mkdir(parents=True, exist_ok=True)
        (self.kb / path).write_text(text)

    def change(self, old: str, new: str, path: str = PAGE) -> None:
        text = self.read(path)
        assert text.count(old) == 1, old
        self.write(path, text.replace(old, new))

    def git(self, *words: str) -> str:
        who = ("-c", "user.name=hand", "-c", "user.email=hand@club.invalid")
        run = ("git", "-C", str(self.kb), *who, *words)
        done = subprocess.run(run, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def files(self) -> dict[str, bytes]:
        found = (p for p in self.kb.rglob("*") if p.is_file())
        paths = {p.relative_to(self.kb).as_posix(): p.read_bytes() for p in found}
        return {path: data for path, data in paths.items() if path[:5] != ".git/"}


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stick with what Moss shared first, and two who have it."""
    folder = tmp_path_factory.mktemp("shared")
    bare = folder / "the stick" / "club.git"
    bare.parent.mkdir()
    subprocess.run(["git", "init", "-q", "--bare", "-b", "main", str(bare)], check=True)
    for path in (PAGE, SIDE, "cards/brakes/brake-drags.md"):
        (folder / "moss" / path).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(ROOT / "kb" / path, folder / "moss" / path)
    moss = Member(folder / "moss", "Moss", bare)
    moss.write("notes/mine.md", NOTE.format(share="private", words="My secret ford."))
    moss.write("notes/ours.md", NOTE.format(share="club", words="The club's ford."))
    moss.write(OUTCOMES, "1 outcome 1\n")
    first = moss.share()
    assert [stay.path for stay in first.stays] == ["notes/mine.md"]
    clone(str(bare), folder / "wren")
    return folder


def two_of(shared: Path, folder: Path) -> tuple[Member, Member]:
    """Moss and Wren in a copy of what they share."""
    shutil.copytree(shared, folder)
    bare = folder / "the stick" / "club.git"
    moss = Member(folder / "moss", "Moss", bare)
    wren = Member(folder / "wren", "Wren", bare)
    for one in (moss, wren):
        one.git("remote", "set-url", "origin", str(bare))
    return moss, wren


@pytest.fixture
def moss(shared: Path, tmp_path: Path) -> Member:
    return two_of(shared, tmp_path / "all")[0]


@pytest.fixture
def wren(moss: Member) -> Member:
    return Member(moss.kb.with_name("wren"), "Wren", Path(moss.remote))


def paths(kinds: dict[str, tuple[str, ...]]) -> list[str]:
    return sorted(path for some in kinds.values() for path in some)


# What goes out and comes in


def test_what_is_shared_is_at_the_other_s_and_what_is_private_is_nowhere(
    moss: Member, wren: Member
) -> None:
    mine = moss.files()
    assert mine.pop("notes/mine.md")
    assert wren.files() == mine
    assert wren.read(".gitattributes").encode() == AS_THEY_ARE
    bare = ("git", "--git-dir", moss.remote, "cat-file", "--batch", "--buffer")
    ask = [*bare, "--batch-all-objects"]
    said = subprocess.run(ask, capture_output=True, check=True).stdout
    assert b"The club's ford." in said
    assert b"secret" not in said
    log = moss.git("log", "--format=%s|%an|%ae")
    told = "3 pages, 1 wordings file, 1 outcome file, 1 other file"
    assert log == f"Moss: {told}|Moss|moss@club.invalid\n"
    assert moss.git("status", "--short") == "?? notes/mine.md\n"


def test_edits_go_there_and_back_and_are_told_by_kind(
    moss: Member, wren: Member
) -> None:
    moss.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    moss.write(OUTCOMES, "1 outcome 1\n1 outcome 2\n")
    wanted = {"page": (PAGE,), "outcome file": (OUTCOMES,)}
    assert by_kind(moss.share().shared) == wanted
    done = wren.share()
    assert by_kind(done.came) == wanted
    assert done == Exchanged(came=done.came)
    assert wren.read(PAGE) == moss.read(PAGE)
    assert moss.git("log", "-1", "--format=%s") == "Moss: 1 page, 1 outcome file\n"
    assert moss.share() == Exchanged(stays=moss.share().stays)


def test_edits_of_two_parts_of_a_page_are_put_together(
    moss: Member, wren: Member
) -> None:
    moss.change("## What people notice\n\n", "## What people notice\n\n- lamp glows\n")
    moss.share()
    wren.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    done = wren.share()
    assert (paths(by_kind(done.came)), done.conflicts) == ([PAGE], ())
    moss.share()
    assert moss.read(PAGE) == wren.read(PAGE)
    assert "- lamp glows\n" in moss.read(PAGE)
    assert "Seen once." in moss.read(PAGE)
    assert wren.git("log", "-1", "--format=%s %p").startswith("Wren: takes in 1 page ")
    assert moss.git("status", "--short") == "?? notes/mine.md\n"


def clash(moss: Member, wren: Member) -> str:
    """Both change one title; where Wren's page is set aside."""
    title = next(line for line in moss.read(PAGE).split("\n") if line[:2] == "# ")
    moss.change(title, "# The lamp of Moss")
    wren.change(title, "# The lamp of Wren")
    mine = wren.read(PAGE)
    moss.share()
    (conflict,) = wren.share().conflicts
    assert conflict.path == PAGE
    assert conflict.aside == aside_path(PAGE, mine.encode())
    assert "title: yours says '# The lamp of Wren', theirs says '# T" in str(conflict)
    assert wren.read(conflict.aside) == mine
    assert wren.read(PAGE) == moss.read(PAGE)
    return conflict.aside


def test_a_clash_keeps_theirs_and_sets_ours_aside_for_all(
    moss: Member, wren: Member
) -> None:
    aside = clash(moss, wren)
    assert by_kind(moss.share().came) == {"text set aside": (aside,)}
    assert names.allowed(aside)
    moss.use(aside)
    moss.share()
    wren.share()
    assert "# The lamp of Wren" in wren.read(PAGE)
    (other,) = asides(str(wren.kb), PAGE)
    assert "# The lamp of Moss" in wren.read(other.path)


def test_a_clash_can_be_let_go(moss: Member, wren: Member) -> None:
    aside = clash(moss, wren)
    drop(str(wren.kb), wren.home, named(str(wren.kb), aside))
    wren.share()
    moss.share()
    assert "# The lamp of Moss" in moss.read(PAGE)
    assert aside not in moss.files()


def test_of_several_texts_set_aside_one_is_named(moss: Member) -> None:
    kept = [aside_path(PAGE, text) for text in (b"one", b"two")]
    for aside in kept:
        moss.write(aside, "---\nshare: club\n---\n")
    with pytest.raises(BotError, match="say which file"):
        moss.use(PAGE)
    moss.use(kept[1])
    assert kept[0] in moss.files()
    words = aside_path("words.yaml", b"three")
    moss.write(words, "words:\n")
    moss.use("words.yaml")
    assert moss.read("words.yaml") == "words:\n"


def test_what_one_took_out_and_the_other_changed_stays(
    moss: Member, wren: Member
) -> None:
    (moss.kb / "notes" / "ours.md").unlink()
    (moss.kb / SIDE).unlink()
    assert by_kind(moss.share().shared)["page"] == ("notes/ours.md",)
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    done = wren.share()
    assert [(c.path, c.how) for c in done.came] == [(SIDE, "gone")]
    assert not (wren.kb / SIDE).exists()
    moss.share()
    assert "The other ford." in moss.read("notes/ours.md")


def test_files_that_grow_lose_no_line_and_what_is_written_once_stays(
    moss: Member, wren: Member
) -> None:
    moss.write(OUTCOMES, "1 outcome 1\n1 outcome 2\n")
    moss.write(SIGNED, '{"signed": "well"}\n')
    moss.share()
    wren.write(OUTCOMES, "1 outcome 1\n1 outcome 3\n")
    wren.share()
    assert wren.read(OUTCOMES) == "1 outcome 1\n1 outcome 2\n1 outcome 3\n"
    moss.share()
    wren.write(OUTCOMES, "1 outcome 1\n")
    wren.write(SIGNED, '{"signed": "badly"}\n')
    wren.write(".gitattributes", "* text=auto\n")
    wren.git("add", ".")
    wren.git("commit", "-qm", "by hand")
    wren.git("push", "-q", "origin", "main")
    moss.share()
    assert moss.read(OUTCOMES) == "1 outcome 1\n1 outcome 2\n1 outcome 3\n"
    assert moss.read(SIGNED) == '{"signed": "well"}\n'
    assert moss.git("show", "origin/main:.gitattributes").encode() == AS_THEY_ARE


def test_two_who_began_apart_come_together(moss: Member, tmp_path: Path) -> None:
    tern = Member(tmp_path / "tern", "Tern", Path(moss.remote))
    tern.write(PAGE, moss.read(PAGE))
    tern.write(SIDE, moss.read(SIDE) + "glows like a cat's eye\n")
    tern.write("notes/tern.md", NOTE.format(share="open", words="Hers."))
    done = tern.share()
    assert done.conflicts == ()
    moss.share()
    assert "glows like a cat's eye\n" in moss.read(SIDE)
    assert "Hers." in moss.read("notes/tern.md")
    assert "The club's ford." in tern.read("notes/ours.md")


def test_two_remotes_may_cross(moss: Member, wren: Member, tmp_path: Path) -> None:
    other = tmp_path / "other.git"
    shutil.copytree(moss.remote, other)
    there = Member(moss.kb, "Moss", other)
    moss.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    moss.share()
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    Member(wren.kb, "Wren", other).share()
    there.share()
    wren.share()
    moss.change("Seen once.", "Seen twice.")
    moss.change("The other ford.", "The third ford.", "notes/ours.md")
    # whichever of the two beginnings came first, neither edit clashes with its own past
    assert moss.share().conflicts == ()
    assert len(moss.git("log", "-1", "--format=%p").split()) == 2
    wren.share()
    assert "Seen twice." in wren.read(PAGE)
    assert "The third ford." in wren.read("notes/ours.md")


def test_who_is_slower_goes_on_from_what_the_faster_shared(
    moss: Member, wren: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    moss.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    push = Git.push

    def late(git: Git, *to: str) -> None:
        monkeypatch.setattr(Git, "push", push)
        moss.share()
        push(git, *to)

    monkeypatch.setattr(Git, "push", late)
    done = wren.share()
    assert done.unsent == ""
    assert paths(by_kind(done.came)) == [PAGE]
    assert paths(by_kind(done.shared)) == ["notes/ours.md"]
    moss.share()
    assert moss.read("notes/ours.md") == wren.read("notes/ours.md")


# What may not leave


def test_what_may_not_leave_stays_as_it_was_shared(moss: Member, wren: Member) -> None:
    checks = Checks(lambda path, text: "it is marked" * ("MARKED" in text))
    moss.change("The club's ford.", "MARKED paper.", "notes/ours.md")
    moss.write("notes/new.md", NOTE.format(share="club", words="MARKED too."))
    done = moss.share(checks)
    assert dict(done.stays)["notes/ours.md"] == "it is marked"
    assert dict(done.stays)["notes/new.md"] == "it is marked"
    assert done.shared == ()
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    wren.share()
    assert "notes/ours.md" in dict(moss.share(checks).stays)
    assert "MARKED paper." in moss.read("notes/ours.md")
    # what came meanwhile is not taken back when the page may leave at last
    moss.change("MARKED paper.", "The club's ford.\n\nAnd its depth.", "notes/ours.md")
    assert moss.share(checks).conflicts == ()
    wanted = "The other ford.\n\nAnd its depth.\n"
    assert moss.read("notes/ours.md").endswith(wanted)


def test_a_page_that_is_made_private_stays_here_from_then_on(
    moss: Member, wren: Member
) -> None:
    moss.change("share: club", "share: private", "notes/ours.md")
    moss.change("The club's ford.", "My own ford.", "notes/ours.md")
    note = f"club/remarks/notes/ours/{'b' * 32}.txt"
    moss.write(note, "1 remark\n")
    done = moss.share()
    assert dict(done.stays) == {
        "notes/mine.md": PRIVATE,
        "notes/ours.md": PRIVATE,
        note: "its page 'notes/ours.md' is private",
    }
    wren.share()
    assert "The club's ford." in wren.read("notes/ours.md")


def test_what_comes_while_a_page_is_private_is_not_taken_back_later(
    moss: Member, wren: Member
) -> None:
    ours = "notes/ours.md"
    moss.change("share: club", "share: private", ours)
    moss.change("share: open", "share: private")
    moss.write(ours, moss.read(ours) + "\nAnd its depth.\n")
    moss.share()
    for old, new in (("The club's ford.", "The other ford."), ("after", "behind")):
        wren.change(old, new, ours)
        wren.share()
        moss.share()
        wren.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    assert "The club's ford." in moss.read(ours)
    moss.change("share: private", "share: club", ours)
    assert moss.share().conflicts == ()
    assert moss.read(ours) == wren.read(ours) + "\nAnd its depth.\n"


def test_a_private_copy_that_is_taken_away_gives_place_to_the_club_s(
    moss: Member, wren: Member
) -> None:
    moss.change("share: club", "share: private", "notes/ours.md")
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    wren.share()
    moss.share()
    (moss.kb / "notes" / "ours.md").unlink()
    moss.share()
    assert moss.read("notes/ours.md") == wren.read("notes/ours.md")
    assert moss.git("status", "--short") == "?? notes/mine.md\n"


@pytest.mark.parametrize(
    "front", ["", "---\nkind: fault\n---\n", "---\nshare: club\nshare: private\n---\n"]
)
def test_where_the_page_does_not_say_it_plainly_it_is_private(
    moss: Member, front: str
) -> None:
    moss.write("cards/brakes/odd.md", f"{front}# Odd\n")
    moss.write("cards/brakes/odd.wordings.txt", "odd\n")
    stays = dict(moss.share().stays)
    assert stays["cards/brakes/odd.md"] == PRIVATE
    assert "is private" in stays["cards/brakes/odd.wordings.txt"]


def test_a_private_page_of_the_name_of_one_that_comes_is_left_alone(
    moss: Member, wren: Member
) -> None:
    wren.write("notes/mine.md", NOTE.format(share="club", words="Hers."))
    wren.share()
    assert "notes/mine.md" in dict(moss.share().stays)
    assert "My secret ford." in moss.read("notes/mine.md")
    moss.change("share: private", "share: club", "notes/mine.md")
    (conflict,) = moss.share().conflicts
    assert conflict.path == "notes/mine.md"
    assert "Hers." in moss.read("notes/mine.md")
    assert "My secret ford." in moss.read(conflict.aside)


def test_files_of_odd_names_and_links_are_told_and_stay(moss: Member) -> None:
    moss.write("notes/My Ford.md", NOTE.format(share="club", words="x"))
    moss.write("notes/picture.jpg", "x")
    (moss.kb / "notes" / "link.md").symlink_to(moss.kb / "notes" / "ours.md")
    (moss.kb / "notes" / "bytes.md").write_bytes(b"\xff")
    moss.write("notes/long.md", NOTE.format(share="club", words="x" * 70_000))
    done = moss.share()
    assert {stay.path.removeprefix("notes/") for stay in done.stays} == {
        *("My Ford.md", "link.md", "bytes.md", "long.md", "mine.md"),
    }
    assert done.shared == ()


def test_a_commit_made_by_hand_is_looked_through_before_it_is_passed_on(
    moss: Member, wren: Member
) -> None:
    moss.git("add", "notes/mine.md")
    moss.git("commit", "-qm", "by hand")
    done = moss.share()
    assert done.unsent.startswith("a commit made by hand holds 'notes/mine.md': it is ")
    assert done.shared == ()
    before = wren.git("rev-parse", "origin/main")
    wren.share()
    assert wren.git("rev-parse", "origin/main") == before


def test_nothing_is_shared_where_it_cannot_be_told_what_is_gone(moss: Member) -> None:
    for page in moss.kb.rglob("*.md"):
        page.unlink()
    with pytest.raises(BotError, match="all pages are gone here; say git restore"):
        moss.share()
    moss.git("restore", ".")
    (moss.kb / "cards").rename(moss.kb / "elsewhere")
    (moss.kb / "cards").symlink_to("elsewhere")
    with pytest.raises(BotError, match="'cards' is a link to a folder"):
        moss.share()


# What may not come in


def by_hand(member: Member, spoil: Callable[[Member], None]) -> None:
    """Push something with plain git that chock would never write."""
    spoil(member)
    member.git("add", "--ignore-removal", "-f", ".")
    member.git("commit", "-qm", "by hand")
    member.git("push", "-q", "origin", "main")


def put_link(wren: Member) -> None:
    (wren.kb / "notes" / "a.md").symlink_to("/etc/passwd")


def put_folder_link(wren: Member) -> None:
    (wren.kb / "procedures").symlink_to("/tmp")


def put_module(wren: Member) -> None:
    name = wren.git("rev-parse", "HEAD").strip()
    wren.git("update-index", "--add", "--cacheinfo", f"160000,{name},notes/sub")


def put_executable(wren: Member) -> None:
    wren.write("notes/run.md", NOTE.format(share="club", words="x"))
    wren.git("add", "notes/run.md")
    wren.git("update-index", "--chmod=+x", "notes/run.md")
    wren.git("config", "core.fileMode", "false")


def put_name(name: str) -> Callable[[Member], None]:
    return lambda wren: wren.write(name, "x")


def put_bytes(wren: Member) -> None:
    (wren.kb / PAGE).write_bytes(b"\xff")


BAD: dict[str, tuple[Callable[[Member], None], str]] = {
    "link": (put_link, "'notes/a.md' is no ordinary file"),
    "folder link": (put_folder_link, "'procedures' is no ordinary file"),
    "module": (put_module, "'notes/sub' is no ordinary file"),
    "executable": (put_executable, "'notes/run.md' is no ordinary file"),
    "capitals": (put_name("notes/A.md"), "no file 'notes/A.md' may lie"),
    "blank": (put_name("notes/a b.md"), "no file 'notes/a b.md'"),
    "letters": (put_name("notes/\u0430.md"), r"no file 'notes/\\u0430.md'"),
    "control": (put_name("notes/\x1b[2J.md"), r"no file 'notes/\\x1b\[2J.md'"),
    "reserved": (put_name("cards/con/a.md"), "no file 'cards/con/a.md'"),
    "deep": (put_name("cards/a/b/c.md"), "no file 'cards/a/b/c.md'"),
    "ending": (put_name("notes/a.exe"), "no file 'notes/a.exe'"),
    "ignored": (put_name(".gitignore"), "no file '.gitignore'"),
    "modules": (put_name(".gitmodules"), "no file '.gitmodules'"),
    "long": (lambda w: w.write(PAGE, "x" * 65_537), "longer than 64 KiB"),
    "bytes": (put_bytes, f"'{PAGE}' is not UTF-8 text"),
}


@pytest.mark.parametrize("what", BAD)
def test_what_may_not_be_there_is_refused_whole_and_nothing_changes(
    moss: Member, wren: Member, what: str
) -> None:
    spoil, says = BAD[what]
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    by_hand(wren, spoil)
    moss.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    before = moss.files()
    with pytest.raises(BotError, match=says) as refused:
        moss.share()
    assert str(refused.value).endswith("changed here, ask the club to take it out")
    assert moss.files() == before
    assert moss.git("log", "-1", "--format=%s") == "Moss: 1 page\n"
    if what in ("link", "bytes"):
        with pytest.raises(BotError, match=says):
            clone(moss.remote, moss.kb.with_name("tern"))
    assert not moss.kb.with_name("tern").exists()
    assert not list(moss.kb.parent.glob(".*"))


def test_a_club_that_has_lost_all_pages_takes_none_from_here(
    moss: Member, wren: Member
) -> None:
    wren.git("rm", "-q", "-r", "cards", "notes")
    by_hand(wren, lambda _: None)
    with pytest.raises(BotError, match="no page is left in what is shared there"):
        moss.share()
    assert (moss.kb / PAGE).exists()


def test_too_many_files_are_refused(
    moss: Member, wren: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.desk.gate.MOST_FILES", 3)
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    by_hand(wren, lambda _: None)
    with pytest.raises(BotError, match="more than 3 files"):
        moss.share()
    monkeypatch.setattr("bot.store.git.MOST_LISTED", 100)
    with pytest.raises(GitError, match="git was ended: it printed more than"):
        moss.share()
    monkeypatch.undo()
    monkeypatch.setattr("bot.desk.gate.MOST_NEW_BYTES", 10)
    with pytest.raises(BotError, match="MiB at once"):
        moss.share()


def test_names_that_may_lie_in_a_knowledge_base() -> None:
    found = (p for p in (ROOT / "kb").rglob("*") if p.is_file())
    for path in found:
        name = path.relative_to(ROOT / "kb").as_posix()
        assert names.allowed(name)
        assert path.stat().st_size <= names.most_bytes(name), name
    for name in (PAGE, SIDE, "stop-rules/ear.txt", "README.md"):
        assert names.allowed(aside_path(name, b"x"))
    assert not names.in_pack(aside_path("words.yaml", b""))
    for name in (
        *("../a.md", "/etc/a.md", "notes/../a.md", "notes//a.md", "notes/a.md/", ""),
        *("notes/a.md\n", "notes/.md", "notes/-a.md", "NOTES/a.md", ".git/config"),
        *("notes/.git/a.md", "club/aside/a.md", "a.md", "cards/a.md", "notes\\a.md"),
        *(
            "notes/nul.md",
            f"notes/{'a' * 250}.md",
            "club/outcomes/a.txt",
            "notes/a:b.md",
        ),
    ):
        assert not names.allowed(name), name


# The remote


@pytest.mark.parametrize(
    ("remote", "says"),
    [
        ("-oProxyCommand=x", "is no remote"),
        ("--upload-pack=x", "is no remote"),
        ("ext::sh -c x", "is no remote"),
        ("fd::3", "is no remote"),
        ("a\nb", r"'a\\nb' is no remote"),
        ("", "is no remote"),
        ("/media/no such stick/club.git", "plug in the stick"),
    ],
)
def test_a_remote_that_is_none_is_refused_in_one_plain_line(
    moss: Member, remote: str, says: str
) -> None:
    before = moss.files()
    for act in (
        lambda: exchange(moss.kb, remote, moss.who, Checks()),
        lambda: clone(remote, moss.kb.with_name("tern")),
    ):
        with pytest.raises(BotError, match=says) as refused:
            act()
        assert "\n" not in str(refused.value)
    assert moss.files() == before


def test_addresses_and_folders_are_told_apart() -> None:
    for address in ("https://club.invalid/a.git", "git@club.invalid:a", "host:a/b"):
        assert remote_of(address) == address
    assert remote_of(str(ROOT)) == str(ROOT)


def test_a_folder_without_a_repository_says_how_to_make_one(
    moss: Member, tmp_path: Path
) -> None:
    (tmp_path / "empty").mkdir()
    moss.change("The club's ford.", "The other ford.", "notes/ours.md")
    with pytest.raises(BotError, match="say git init --bare"):
        exchange(moss.kb, str(tmp_path / "empty"), moss.who, Checks())
    assert moss.git("log", "-1", "--format=%s") == "Moss: 1 page\n"


def test_a_remote_where_nothing_may_be_written_still_gives(
    moss: Member, wren: Member
) -> None:
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    wren.share()
    hook = Path(moss.remote) / "hooks" / "pre-receive"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text("#!/bin/sh\necho no, not here >&2\nexit 1\n")
    hook.chmod(0o755)
    moss.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    done = moss.share()
    assert done.unsent.startswith("git says '")
    assert paths(by_kind(done.came)) == ["notes/ours.md"]
    assert done.shared == ()
    hook.unlink()
    assert paths(by_kind(moss.share().shared)) == [PAGE]


def test_the_branch_of_the_remote_is_found(moss: Member, tmp_path: Path) -> None:
    git = ("git", "--git-dir", moss.remote)
    subprocess.run((*git, "branch", "-q", "-m", "main", "trunk"), check=True)
    moss.change("The club's ford.", "The other ford.", "notes/ours.md")
    assert paths(by_kind(moss.share().shared)) == ["notes/ours.md"]
    clone(moss.remote, tmp_path / "tern")
    assert (tmp_path / "tern" / ".git" / "HEAD").read_text().endswith("heads/trunk\n")


def test_a_clone_goes_only_where_nothing_is(moss: Member, tmp_path: Path) -> None:
    with pytest.raises(BotError, match="is not empty"):
        clone(moss.remote, moss.kb)
    bare = tmp_path / "new.git"
    subprocess.run(["git", "init", "-q", "--bare", str(bare)], check=True)
    with pytest.raises(BotError, match=r"nothing is at .* yet"):
        clone(str(bare), tmp_path / "tern")
    (tmp_path / "tern").mkdir()
    came = clone(moss.remote, tmp_path / "tern")
    assert len(came) == len(Member(tmp_path / "tern", "Tern", bare).files())


# Git itself


def test_plain_git_works_on_the_same_folder_between_exchanges(
    moss: Member, wren: Member
) -> None:
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    wren.share()
    assert "notes/ours.md" in moss.git("pull", "-q", "--ff-only") + moss.git(
        "diff", "--name-only", "HEAD@{1}"
    )
    moss.change("The other ford.", "The third ford.", "notes/ours.md")
    moss.git("commit", "-qam", "by hand")
    assert moss.git("log", "-1", "--format=%an %s") == "hand by hand\n"
    assert paths(by_kind(moss.share().shared)) == ["notes/ours.md"]
    wren.git("pull", "-q")
    assert "The third ford." in wren.read("notes/ours.md")
    assert wren.share() == Exchanged()
    assert wren.git("status", "--short") == wren.git("fsck") == ""


def test_what_was_begun_by_hand_is_ended_by_hand(moss: Member) -> None:
    (moss.kb / ".git" / "MERGE_HEAD").write_text("x")
    with pytest.raises(GitError, match="a merge begun by hand is not at its end"):
        moss.share()
    (moss.kb / ".git" / "MERGE_HEAD").unlink()
    moss.git("switch", "-q", "--detach")
    with pytest.raises(GitError, match="say git switch main"):
        moss.share()


def test_settings_and_variables_from_outside_do_nothing(
    moss: Member, wren: Member, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    trap = tmp_path / "trap"
    trap.write_text(f"#!/bin/sh\ntouch '{tmp_path / 'sprung'}'\n")
    trap.chmod(0o755)
    for name in ("pre-push", "reference-transaction", "post-index-change"):
        hook = moss.kb / ".git" / "hooks" / name
        hook.parent.mkdir(exist_ok=True)
        shutil.copy(trap, hook)
    moss.git("config", "core.autocrlf", "true")
    moss.git("config", "core.fsmonitor", str(trap))
    for name, value in (
        ("GIT_DIR", str(wren.kb / ".git")),
        ("GIT_INDEX_FILE", str(tmp_path / "index")),
        ("GIT_AUTHOR_NAME", "Somebody Else"),
        ("GIT_SSH_COMMAND", str(trap)),
        ("GIT_EXTERNAL_DIFF", str(trap)),
    ):
        monkeypatch.setenv(name, value)
    moss.write("notes/ours.md", moss.read("notes/ours.md").replace("\n", "\r\n"))
    data = (moss.kb / "notes" / "ours.md").read_bytes()
    moss.share()
    monkeypatch.undo()
    wren.share()
    assert (wren.kb / "notes" / "ours.md").read_bytes() == data
    assert b"\r\n" in data
    assert wren.git("log", "-1", "--format=%an") == "Moss\n"
    assert not (tmp_path / "sprung").exists()


def test_without_git_or_with_an_old_one_packs_are_named(
    monkeypatch: pytest.MonkeyPatch, moss: Member
) -> None:
    need_git.cache_clear()
    monkeypatch.setattr(gitrun, "LEAST", (99, 0))
    with pytest.raises(
        GitError, match=r"is too old, 99\.0 is needed; share with packs"
    ):
        moss.share()
    monkeypatch.setenv("PATH", "")
    with pytest.raises(GitError, match="not installed here; share with packs"):
        moss.share()
    monkeypatch.undo()
    need_git()


def test_a_command_is_ended_at_its_bounds(tmp_path: Path) -> None:
    slow = gitrun.Bounds(seconds=0.3)
    with pytest.raises(GitError, match="it took longer than 0 s"):
        gitrun.run(("sleep", "30"), tmp_path, bounds=slow)
    with pytest.raises(GitError, match="it printed more than 0 MiB"):
        gitrun.run(("yes",), tmp_path, bounds=gitrun.Bounds(most=1000))
    (tmp_path / "tmp_pack_x").write_bytes(b"x" * 100)
    full = gitrun.Bounds(brings=tmp_path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gitrun, "MOST_FETCHED", 50)
        with pytest.raises(GitError, match="it brings more than"):
            gitrun.run(("sleep", "30"), tmp_path, bounds=full)


@pytest.mark.parametrize("data", [b"", b"a page\n", b"\xff" * 1000])
def test_contents_have_the_names_that_git_gives_them(
    moss: Member, tmp_path: Path, data: bytes
) -> None:
    (tmp_path / "data").write_bytes(data)
    name = moss.git("hash-object", str(tmp_path / "data")).strip()
    assert blob_name(data) == name
    assert Git(moss.kb).put([data]) == {data: name}


# Deaths, and editors at work


def test_what_is_written_this_very_moment_is_neither_lost_nor_takes_back(
    moss: Member, wren: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    wren.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    wren.share()
    bring = worktree.bring

    def late(git: Git, plan: worktree.Plan) -> tuple[str, ...]:
        moss.change("notice\n\n", "notice\n\n- lamp glows\n")
        monkeypatch.setattr(worktree, "bring", bring)
        return bring(git, plan)

    monkeypatch.setattr(worktree, "bring", late)
    done = moss.share()
    assert "written to this very moment" in dict(done.stays)[PAGE]
    assert "- lamp glows" in moss.read(PAGE)
    assert "Seen once." not in moss.read(PAGE)
    assert "The other ford." in moss.read("notes/ours.md")
    done = moss.share()
    assert PAGE not in dict(done.stays)
    assert "- lamp glows" in moss.read(PAGE)
    assert "Seen once." in moss.read(PAGE)
    wren.share()
    assert wren.read(PAGE) == moss.read(PAGE)


def test_a_commit_by_hand_after_a_death_counts(
    moss: Member, wren: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    wren.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    wren.share()

    def die(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(worktree, "_tidy", die)
    with pytest.raises(BotError, match="the disk refuses"):
        moss.share()
    monkeypatch.undo()
    assert "Seen once." in moss.read(PAGE)
    moss.change("The club's ford.", "The other ford.", "notes/ours.md")
    moss.git("commit", "-qam", "by hand")
    done = moss.share()
    assert (done.conflicts, done.unsent) == ((), "")
    wren.share()
    assert "The other ford." in wren.read("notes/ours.md")
    assert "Seen once." in wren.read(PAGE)


def test_a_file_that_goes_while_it_is_written_stays(
    moss: Member, wren: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    (wren.kb / "notes" / "ours.md").unlink()
    wren.share()
    bring = worktree.bring

    def late(git: Git, plan: worktree.Plan) -> tuple[str, ...]:
        moss.change("The club's ford.", "The other ford.", "notes/ours.md")
        return bring(git, plan)

    monkeypatch.setattr(worktree, "bring", late)
    moss.share()
    monkeypatch.undo()
    assert "The other ford." in moss.read("notes/ours.md")
    moss.share()
    wren.share()
    assert wren.read("notes/ours.md") == moss.read("notes/ours.md")


WATCHED = tuple(
    str(ROOT / "bot" / name)
    for name in ("store/git.py", "store/worktree.py", "desk/gitround.py")
)


def killed(act: Callable[[], object], point: int) -> int:
    """Die at the n-th line of ours in a child; how many lines were left to run."""
    read, write = os.pipe()
    child = os.fork()
    if child:
        os.close(write)
        with os.fdopen(read, "rb") as pipe:
            said = pipe.read()
        os.waitpid(child, 0)
        return int(said or b"0")
    left = point

    def trace(frame: FrameType, event: str, _: object) -> "TraceFunction | None":
        nonlocal left
        if not frame.f_code.co_filename.startswith(WATCHED):
            return None
        left -= event == "line"
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return trace

    sys.settrace(trace)
    try:
        act()
        os.write(write, str(left).encode())
    finally:
        os._exit(0)


KILLS = int(os.environ.get("KILLS", "3"))
FAR = 1_000_000_000


@pytest.fixture(scope="session")
def half_way(
    shared: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, dict[str, bytes], int]:
    """Two about to exchange all there is; Moss's files after it, and its lines."""
    moss, wren = two_of(shared, tmp_path_factory.mktemp("half") / "way")
    wren.change("## Sources", "## Remarks\n\nSeen once.\n\n## Sources")
    wren.change("The club's ford.", "The other ford.", "notes/ours.md")
    wren.write("notes/wren.md", NOTE.format(share="club", words="Hers."))
    (wren.kb / SIDE).unlink()
    wren.share()
    moss.change("notice\n\n", "notice\n\n- lamp glows\n")
    after, _ = two_of(moss.kb.parent, tmp_path_factory.mktemp("after") / "it")
    lines = FAR - killed(after.share, FAR)
    assert after.files() != moss.files()
    return moss.kb.parent, after.files(), lines


def ends_well(moss: Member, wren: Member, new: dict[str, bytes]) -> None:
    moss.share()
    assert moss.files() == new
    assert moss.git("fsck", "--no-dangling") == ""
    assert moss.git("status", "--short") == "?? notes/mine.md\n"
    wren.share()
    assert wren.files() == {p: d for p, d in new.items() if p != "notes/mine.md"}


@pytest.mark.parametrize("nth", range(KILLS))
def test_a_death_at_any_point_leaves_the_old_files_or_the_new(
    half_way: tuple[Path, dict[str, bytes], int], tmp_path: Path, nth: int
) -> None:
    kept, new, lines = half_way
    moss, wren = two_of(kept, tmp_path / "all")
    old = moss.files()
    killed(moss.share, 1 + nth * lines // KILLS)
    recover(moss.kb)
    assert moss.files() in (old, new)
    ends_well(moss, wren, new)


@pytest.mark.parametrize("nth", range(1, 40, max(1, 40 // KILLS)))
def test_a_death_of_git_with_us_leaves_nothing_locked(
    half_way: tuple[Path, dict[str, bytes], int], tmp_path: Path, nth: int
) -> None:
    kept, new, _ = half_way
    moss, wren = two_of(kept, tmp_path / "all")
    old, left = moss.files(), nth

    def read(process: subprocess.Popen[bytes], bounds: gitrun.Bounds) -> object:
        nonlocal left
        left -= 1
        if left == 0:
            os.killpg(process.pid, signal.SIGSTOP)
            locks = [*moss.kb.rglob("*.lock"), moss.kb / ".git/chock/index.lock"]
            locks.append(moss.kb / ".git" / "refs" / "chock" / "incoming.lock")
            if (moss.kb / ".git" / "chock" / "plan").exists():
                locks.append(moss.kb / ".git" / "HEAD.lock")
            for lock in locks:  # what a git that dies may leave
                lock.parent.mkdir(exist_ok=True)
                lock.touch()
            os.killpg(process.pid, signal.SIGKILL)
            os.kill(os.getpid(), signal.SIGKILL)
        return heard(process, bounds)

    heard = gitrun._read
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gitrun, "_read", read)
        killed(moss.share, FAR)
        patch.setattr(gitrun, "_read", heard)
        patch.setattr(worktree, "PATIENCE_S", 0.05)
        recover(moss.kb)
        assert moss.files() in (old, new)
        ends_well(moss, wren, new)


def test_one_window_shares_at_a_time(
    moss: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk, "PATIENCE_S", 0.01)
    with (
        alone(moss.kb / ".git" / "chock" / "lock", 1.0),
        pytest.raises(GitError, match="another window is sharing"),
    ):
        moss.share()


def test_a_file_without_base_or_with_two_is_joined_safely() -> None:
    def joined(
        path: str, base: bytes | None, ours: bytes, theirs: bytes | None
    ) -> tuple[object, ...]:
        return join(path, base, ours, theirs, lambda *_: True)[:2]

    assert joined("words.yaml", b"a: 1\n", b"a: 2\n", b"a: 3\n") == (
        b"a: 3\n",
        b"a: 2\n",
    )
    assert joined(SIGNED, None, b"b", b"a") == joined(SIGNED, None, b"a", b"b")
    assert joined(SIGNED, b"x", b"x", None) == (None, None)
    long = b"".join(b"%d\n" % n for n in range(30_000))
    other = b"".join(b"%d\n" % n for n in range(30_000, 60_000))
    kept, aside = joined(SIDE, b"", long, other)
    assert (kept, aside) == (other, long)
    with pytest.raises(BotError, match="would be longer than 4096 KiB"):
        joined(OUTCOMES, None, b"a" * 3_000_000, b"b" * 3_000_000)


def test_a_few_clones_that_change_all_at_once_end_alike_and_lose_nothing() -> None:
    clones = tool("clones")
    said = clones.run(clones.Asked(clones=5, rounds=12, seed=4, share=0.15))
    assert said.wrong == []
    assert said.counts["conflicts"] > 0
    assert said.counts["words"] > 50
