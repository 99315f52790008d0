"""Other ways to say an answer that has a key. Small letters, no punctuation."""

from types import MappingProxyType

YES = (
    "yes",
    "y",
    "yep",
    "yeah",
    "yeh",
    "yea",
    "yup",
    "ya",
    "aye",
    "ok",
    "okay",
    "sure",
    "sounds right",
    "right",
    "correct",
    "thats it",
    "that is it",
    "that is right",
    "thats right",
)
NO = ("no", "n", "nope", "nah", "wrong", "not that")
CANT_TELL = (
    "dunno",
    "idk",
    "dont know yet",
    "i dont know",
    "cant tell",
    "can not tell",
    "cannot tell",
    "dont know",
    "do not know",
    "no idea",
    "not sure",
    "unsure",
    "hard to say",
)
CANT_SAY = (
    *CANT_TELL,
    "either",
    "could be either",
    "both",
    "any of them",
    "cant say",
    "cant say which",
    "you tell me",
    "let checks tell",
    "let the checks tell",
    "be either of",
    "dont know which",
)
CANT_DO = (
    "cant do",
    "cant",
    "cant do that here",
    "cant do that",
    "cant do this",
    "cant do it",
    "can not do that",
    "havent got the",
    "cannot do that",
    "not here",
    "no tool",
    "no tools",
    "no part",
    "no parts",
    "have not got that",
    "havent got that",
    "not possible",
    "not fitted",
    "too dark",
)
ANOTHER_WAY = (
    "another way",
    "something else instead",
    "something else",
    "another check",
    "other check",
    "different check",
    "check more",
    "check more first",
    "skip",
    "next",
    "later",
)
ANYWHERE = frozenset(
    (
        "another check",
        "other check",
        "different check",
        "something else instead",
        "cant do that",
        "cant do this",
        "can not do that",
        "havent got the",
        "could be either",
        "be either of",
        "dont know which",
        "you tell me",
        "let the checks tell",
        "call for help",
    )
)
ANYWHERE_WITHIN = 12
"""Phrases that are heard anywhere in so many words, where the move is on offer."""
WHY = ("why", "why this", "why this one", "why that", "what for")
SUSPECTS = ("suspicions", "suspects", "what do you think", "what do you suspect")
BACK = ("back", "go back", "undo", "take that back")
PAUSE = ("pause", "break", "stop for now", "carry on later")
HELP = ("call for help", "give up", "i give up", "get help", "need help")
GO_ON = (
    "go on",
    "done",
    "done it",
    "done that",
    "all done",
    "ive done it",
    "ive done that",
    "i have done this",
    "i have done that",
    "understood",
    "ok",
    "yes",
    "ok done that",
    "have done that",
)
NOT_SO = ("false alarm", "not that", "thats not it", "it is not so", "not so here")
DONE = (
    "done",
    "did it",
    "done that",
    "all done",
    "yes",
    "fitted",
    "its done",
    "it is done",
    "finished",
)
DONE_WORDS = ("done", "finished", "fitted", "yes")
"""First words that say a repair is made, whatever follows in a few words."""
AILING = frozenset(
    (
        "again",
        "as",
        "back",
        "before",
        "better",
        "bad",
        "helped",
        "isnt",
        "didnt",
        "doesnt",
        "never",
        "no",
        "nope",
        "nor",
        "not",
        "same",
        "slow",
        "still",
        "wont",
        "worse",
    )
)
"""Words after which a trial is never taken for clean unasked."""
FAILED = frozenset(("again", "back", "nope", "not", "still", "worse", "wont"))
"""Those of them that say by themselves that it failed."""
BACK_AGAIN = frozenset(("again", "back"))
DENYING = frozenset(("not", "didnt", "never", "hasnt", "no", "dont", "doesnt"))
"""With one of these beside it "it came back" says the opposite, and is asked again."""
REFUSING = ("no", "nope", "nah", "not", "wrong", "never")
"""Words that make a few words a no, wherever they stand."""
HANDS = MappingProxyType(
    {
        "helper": "helper",
        "tool": "tools",
        "tools": "tools",
        "torch": "torch",
        "light": "torch",
        "flashlight": "torch",
        "meter": "meter",
        "multimeter": "meter",
        "voltmeter": "meter",
        "gauge": "tyre gauge",
    }
)
"""Common tools as people say them, and as cards name them."""
MEASURING = frozenset(("meter", "tyre gauge"))
"""Tools that are missing only where they are asked for: dashboards have gauges too."""

NO_TOOL = frozenset(("the", "a", "of", "and", "key", "on", "off", "to", "or", "for"))
"""Words inside a tool's name that name no tool."""
NONE = ("none", "none of these", "none of them", "neither", "no", "something else")
BACK_AGAIN_SAID = (
    "it came back",
    "came back",
    "its back",
    "it is back",
    "back again",
    "not cured",
)
OPEN_AGAIN = (
    "open it again",
    "open again",
    "reopen",
    "go on",
    "it came back",
    "not settled",
)
NOT_KNOWN_YET = (
    "not known yet",
    "not known",
    "unknown",
    "not yet",
    "i dont know",
    "i do not know",
    "dont know",
    "do not know",
    "dunno",
    "no idea",
    "not sure",
    "cant say",
)
FIRST = ("first", "the first", "first one", "the first one", "yes", "that one", "that")
SECOND = ("second", "the second", "second one", "the second one")
THIRD = ("third", "the third", "third one", "the third one", "last", "the last one")
GO_TO = ("go to", "go to it", "go there", "other card")
AS_WRITTEN = ("as written", "in order", "written order", "the cards own order")
BEST_ORDER = ("best order", "the best order", "cheapest order")
EVERY_TIME = ("always", "every time", "each time", "all the time", "constantly")
CLEAN = ("clean", "good", "all good", "fine", "yes", "held", "it held", "no fault")
NOT_CLEAN = (
    "not clean",
    "no",
    "not good",
    "it is back",
    "its back",
    "still there",
    "same as before",
    "same again",
    "not fixed",
)
AGAIN = ("look again", "check again", "that check again", "do it again")
BETTER = (
    "better",
    "better but not gone",
    "a bit better",
    "much better but not right",
    "improved",
    "half cured",
    "only partly",
    "it helped",
    "helped a bit",
)
LEAVE_IT = ("leave it", "leave it at that", "enough", "write it down", "thats enough")
WRITE = ("yes", "right", "ok", "write it down", "done", "correct")
KEYS = ("keys", "help", "h", "what can i type", "what now")
"""Asking how to answer, which is not calling for help."""
NEW = ("new", "new job", "start a new job", "another job")
"""Leaving this job as it is and starting one afresh."""
EOF = ("quit", "exit", "bye", "q")
"""Leaving the program; the job stays open where it is."""
