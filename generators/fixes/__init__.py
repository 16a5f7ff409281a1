"""Fixes of failing checks: changes of keys and values, tried before they are told."""
