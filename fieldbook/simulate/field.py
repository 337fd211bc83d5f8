"""The truth of a field in a season, for whoever walks it: all of it through one door."""

from fieldbook.simulate.ears import EarState, pull_ear
from fieldbook.simulate.harvest import (
    Harvest,
    LoadState,
    harvest,
    load_tickets,
    true_yield_bu_ac,
)
from fieldbook.simulate.leaves import LeafState, StalkState, look_at_leaves, try_stalks
from fieldbook.simulate.stops import FieldState, StopState, see_field, see_stop
from fieldbook.simulate.truth import FieldTruth, grow, stage_on
from fieldbook.simulate.varied import random_plot

__all__ = [
    "EarState",
    "FieldState",
    "FieldTruth",
    "Harvest",
    "LeafState",
    "LoadState",
    "StalkState",
    "StopState",
    "grow",
    "harvest",
    "load_tickets",
    "look_at_leaves",
    "pull_ear",
    "random_plot",
    "see_field",
    "see_stop",
    "stage_on",
    "true_yield_bu_ac",
    "try_stalks",
]
