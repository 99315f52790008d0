"""chock: say what is wrong, know whether it is safe, find the cause, prove the fix."""
