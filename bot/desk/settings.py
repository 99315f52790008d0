"""How the screen is wanted: colours, bell, a line each in the person's own store."""

from dataclasses import dataclass
from pathlib import Path

from bot.model.place import BotError
from bot.store.files import read_whole, write_whole

FILE = "settings.txt"
NIGHT, SUN = "night", "sun"
THEMES = (NIGHT, SUN)


@dataclass(frozen=True, slots=True)
class Settings:
    """How it is wanted.

    `theme` is one of `THEMES`; `bell` rings when a wait is over; `is_plain`: lines and
    signs are drawn in plain letters; `was_asked`: the questions about the truck were
    put, and are not put again.
    """

    theme: str = NIGHT
    bell: bool = True
    is_plain: bool = False
    was_asked: bool = False


def settings(home: str) -> Settings:
    """Those that are kept; what is not kept, or cannot be read, is as at first."""
    try:
        text = read_whole(Path(home, FILE)).decode("utf-8", "replace")
    except OSError:
        return Settings()
    said = dict(_pair(line) for line in text.splitlines())
    theme = said.get("theme", NIGHT)
    return Settings(
        theme if theme in THEMES else NIGHT,
        said.get("bell") != "off",
        said.get("letters") == "plain",
        said.get("asked") == "yes",
    )


def _pair(line: str) -> tuple[str, str]:
    name, _, value = line.partition(":")
    return name.strip(), value.strip()


def keep(home: str, wanted: Settings) -> None:
    """Keep them.

    Raises:
        BotError: the store takes nothing, in one sentence.
    """
    lines = [f"theme: {wanted.theme}", f"bell: {'on' if wanted.bell else 'off'}"]
    lines += ["letters: plain"] if wanted.is_plain else []
    lines += ["asked: yes"] if wanted.was_asked else []
    try:
        write_whole(Path(home, FILE), "".join(f"{line}\n" for line in lines))
    except OSError as error:
        says = f"it holds for now only, '{home}' takes nothing ({error.strerror})"
        raise BotError(says) from error
