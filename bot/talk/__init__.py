"""One conversation for every window: a job to messages, words typed to events."""
