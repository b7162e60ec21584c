"""The pure functions, one file per topic: SI floats in, SI floats out."""
