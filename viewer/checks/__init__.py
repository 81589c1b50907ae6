"""Stage 8, a program to findings: ``finding -> one module a theme -> policy -> run``; limits, severity and words.

Nothing is measured here that a folder before it can measure. The visible tuple of all checks is
`viewer.checks.run.CHECKS`; each theme's module holds its own::

    file, ending, middle    FILE_CHECKS         first_layer    FIRST_LAYER_CHECKS
    machine, outside        MACHINE_CHECKS      shape          SHAPE_CHECKS
    filament                FILAMENT_CHECKS     time           TIME_CHECKS

Nothing is imported here: `beadline explain` must not wait for what the checks compute with.
"""
