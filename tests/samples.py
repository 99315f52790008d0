"""One event of every kind."""

from bot.job import events as e
from bot.job.job import Skip

SAMPLES: dict[str, e.Event] = {
    "described": e.Described("hiss", (("a-card", 0.8),), 0.2),
    "stop-raised": e.StopRaised(("a-rule",)),
    "stop-cleared": e.StopCleared(),
    "stop-denied": e.StopDenied(),
    "help-called": e.HelpCalled(),
    "card-chosen": e.CardChosen("a-card"),
    "cards-kept": e.CardsKept(("a-card", "b-card")),
    "lead-followed": e.LeadFollowed("b-card"),
    "card-turned": e.CardTurned("b-card"),
    "cards-declined": e.CardsDeclined(("a-card",)),
    "nothing-fitted": e.NothingFitted(),
    "order-chosen": e.OrderChosen(as_written=True),
    "check-proposed": e.CheckProposed("a-check"),
    "repair-proposed": e.RepairProposed("a-repair"),
    "help-proposed": e.HelpProposed(),
    "guessed": e.Guessed("a-check", "Yes", "it hisses"),
    "guess-denied": e.GuessDenied(),
    "found": e.Found("a-check", "Yes"),
    "step-skipped": e.StepSkipped("a-check", Skip.PUT_OFF.value),
    "repair-done": e.RepairDone("a-repair"),
    "showed-before": e.ShowedBefore(3, 10),
    "cycle-clean": e.CycleClean(),
    "cycle-not-clean": e.CycleNotClean(),
    "cycle-better": e.CycleBetter(),
    "proof-ended": e.ProofEnded(),
    "cause-named": e.CauseNamed("a-cause"),
    "tool-missing": e.ToolMissing("a-check", "meter"),
    "came-back": e.CameBack(),
    "recorded": e.Recorded("a-cause", "a-repair", True, False, 60.0, 0.0),
    "paused": e.Paused(),
    "resumed": e.Resumed(),
    "stepped-back": e.SteppedBack(),
}
