"""An invented season: weather, fields, ears and a scout who fills books.

It makes truth, so it may not import the analysis that it is used to test: nothing of
`fieldbook.agronomy` comes in here.
"""
