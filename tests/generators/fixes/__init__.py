"""Tests of fixes."""
