"""Which acts of speech stand for a choice, by their names in `kb/speech.yaml`."""

YES = ("yes",)
NO = ("no",)
UNSURE = ("do_not_know", "not_sure", "could_be_either", "yes_i_think")
CANT_TELL = ("do_not_know", "not_sure")
CANT_SAY = ("do_not_know", "not_sure", "could_be_either")
NO_PART = "no_such_part"
CANT_DO = ("can_not_do_it_here", NO_PART)
ANOTHER_WAY = ("another_way",)
WHY = ("why",)
SUSPECTS = ("suspicions",)
BACK = ("back",)
PAUSE = ("pause",)
HELP = ("call_for_help",)
GO_ON = ("go_on", "done", "yes")
NOT_SO = ("not_so",)
DONE = ("done", "yes")
NONE = ("none_of_these", "no")
BACK_AGAIN_SAID = ("it_came_back",)
OPEN_AGAIN = ("open_again", "it_came_back")
NOT_DONE = "not_done_yet"
NOT_KNOWN_YET = ("not_known_yet", "do_not_know", "not_sure")
FIRST = ("the_first",)
SECOND = ("the_second",)
THIRD = ("the_third",)
PLACES = (
    "the_first",
    "the_second",
    "the_third",
    "the_fourth",
    "the_fifth",
    "the_sixth",
)
LAST = "the_last"
GO_TO = ("go_there",)
AS_WRITTEN = ("as_written",)
BEST_ORDER = ("best_order",)
EVERY_TIME = ("every_time",)
SHOWS = ("it_shows", "it_came_back")
HIDES = ("it_hides",)
EVERY_OTHER = ("every_other_time",)
ONE_IN_FIVE = ("one_in_five",)
RARELY = ("one_in_ten",)
CLEAN = ("clean", "yes")
NOT_CLEAN = ("not_clean", "it_came_back", "no")
AGAIN = ("look_again",)
LEFT_OUT = ("left_out_again", "another_way", "look_again")
BETTER = ("better",)
LEAVE_IT = ("leave_it",)
WRITE = ("write_it", "yes")
KEEP_WORDS = ("keep_my_words",)
FORGET_WORDS = ("forget_my_words",)
KEYS = "keys"
PUZZLED = ("say_it_again", "wait_a_moment")
MAY_IT_MOVE = "may_it_move"
CARRY = "what_to_carry"
ANSWERED = "what_i_answered"
PASSED = "passed"
NOTES = "field_notes"
WRONG_CARD = "wrong_card"

EOF = ("quit", "exit", "bye", "q")
"""Leaving the program; the job stays open where it is."""
NEW_JOB = "new_job"
"""Leaving this job as it is and starting one afresh."""
TAKE_OVER = "take_over"
"""Going on here with a job that another window works on."""
ASSENT = ("yes", "y", "yep", "yeah", "ok", "okay", "aye", "sure")
DISSENT = ("no", "n", "nope", "nah")
"""Yes and no before a knowledge base is open."""
