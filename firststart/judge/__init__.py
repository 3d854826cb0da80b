"""Named calculators that judge a reading: value and engine in, a verdict with its limit and source out."""
