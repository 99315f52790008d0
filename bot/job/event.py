"""The bases of all events of a job."""

from dataclasses import dataclass

from bot.job.job import Job


@dataclass(frozen=True, slots=True)
class Event:
    """The base of all events."""

    def change(self, job: Job) -> Job:
        """The job with what this event says; its stage is not this event's business."""
        return job


@dataclass(frozen=True, slots=True)
class Decision(Event):
    """The base of those that the person decided; going back undoes the last one."""
