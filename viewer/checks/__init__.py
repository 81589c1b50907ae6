"""Stage 6, figures to findings: ``finding -> one module a theme -> policy -> run``.

The visible tuple of all checks is `viewer.checks.run.CHECKS`; each theme's module holds its own::

    file, ending     FILE_CHECKS         first_layer     FIRST_LAYER_CHECKS
    machine          MACHINE_CHECKS      shape, masks    SHAPE_CHECKS
    filament         FILAMENT_CHECKS     time            TIME_CHECKS

Nothing is imported here: `beadline explain` must not wait for what the checks compute with.
"""
