"""The nouns of the workshop: values only, nothing here reads, decides or prints."""
