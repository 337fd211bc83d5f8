"""The drawings of a report: geometry in plain records; templates give it ink."""

from fieldbook.report.drawings.dayline import draw_dayline
from fieldbook.report.drawings.ear import draw_ear
from fieldbook.report.drawings.heat import draw_heat
from fieldbook.report.drawings.ladder import draw_ladder
from fieldbook.report.drawings.shapes import NARROW, WIDE, Drawing
from fieldbook.report.drawings.standing import draw_standing
from fieldbook.report.drawings.stops import draw_stops
from fieldbook.report.drawings.strip import StageRow, draw_strip

__all__ = [
    "NARROW",
    "WIDE",
    "Drawing",
    "StageRow",
    "draw_dayline",
    "draw_ear",
    "draw_heat",
    "draw_ladder",
    "draw_standing",
    "draw_stops",
    "draw_strip",
]
