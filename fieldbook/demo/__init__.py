"""An invented season, walked from roster to report in one go."""

from fieldbook.demo.run import DemoRefusedError, run_demo

__all__ = ["DemoRefusedError", "run_demo"]
