"""Solids from drawings: the only place beside exports and proofs that calls the CAD kernel."""
