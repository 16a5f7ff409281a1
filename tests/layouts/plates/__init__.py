"""Tests of plates."""
