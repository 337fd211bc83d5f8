"""Moulds as a scout sees them on an ear: by colour and place, not by name."""

from fieldbook.schema import Choice

NO_MOULD = "none"
MOULDS = (
    Choice(key=NO_MOULD, label="None"),
    Choice(key="pink-tip", label="Pink-red from tip"),
    Choice(key="white-scattered", label="White to pink spots"),
    Choice(key="white-mat", label="White mat from butt"),
    Choice(key="olive-powder", label="Olive-green powder"),
    Choice(key="blue-green", label="Blue-green powder"),
    Choice(key="other", label="Something else"),
)
MOULD_HELP = "What the mould looks like. Do not breathe its dust; keep the ear away from your face."
