"""The print log: what really happened, kept in one SQLite file, and what follows from it for the next print.

`PrintLog` is the store; `corrected_estimate`, `proposals` and `accuracy` compute from its rows. Nothing here knows the
window or the console.
"""
