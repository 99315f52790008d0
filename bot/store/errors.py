"""What a store of jobs can refuse."""

from bot.model.place import BotError


class JournalError(BotError):
    """Something cannot be saved or opened."""


class MovedOn(JournalError):  # noqa: N818 - a state of the job, no fault
    """The job goes on in another window: nothing was saved of this one's answer."""
