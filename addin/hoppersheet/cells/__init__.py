"""What a cell holds, read into SI and written back: numbers in text, units, limits, wording."""
