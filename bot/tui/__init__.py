"""The full screen: shows messages, turns keys and taps into words. No decisions."""
