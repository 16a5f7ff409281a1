"""Reading files, solids, drawings, exports, proofs, report and command line."""
