"""The finished pack's outside as a dummy: a hollow print, or sheets to cut from cardboard."""
