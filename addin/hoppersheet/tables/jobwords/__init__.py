"""The words that people put into job lists, in four languages: one topic per file."""
