"""What the readings amount to: every figure of a field, trials, the plan, the settling."""
