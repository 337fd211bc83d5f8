"""Pure functions on numbers, dates and arrays: yield, sampling, ears, heat, stages, frost.

Each works in stored units (acres, inches of row width, feet, degF, bu/ac) and asks
`fieldbook.figures` for its constants; ``figures=None`` means the shipped ones.
"""
