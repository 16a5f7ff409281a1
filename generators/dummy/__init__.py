"""The finished pack's outside as a hollow quick print and as sheets of card, to try the fit."""
