"""Many programs at once: files and folders in, one row a program out, on all cores or on a cluster.

::

    files.py      which files a person means
    work.py       what a worker is told and what it returns
    vetting.py    one program: opened, checked, judged, tried on every printer (what a worker does)
    processes.py  workers of this machine, one program at a time each
    cluster.py    workers of other machines
    parts.py      what a row is made of, and on what each part of it depends
    store.py      parts that are remembered between runs
    row.py        one row, their order, their totals
    run.py        the survey: what is remembered is looked up, the rest is worked on

The modules that whoever starts a survey imports know neither numpy nor the compiler: where everything is remembered, the
answer comes at once. `vetting` imports the engine, in the worker.
"""
