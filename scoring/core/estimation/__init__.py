"""What results teach: seconds a rep, what options are worth, members' levels, forecasts.

One model, told in ``scoring/SCORING.md``. ``ways.py`` and ``rows.py`` are what goes in,
``fit.py`` fits, ``estimate.py`` is what comes out, and the rest reads an ``Estimate``.
Arrays in, arrays out: nothing here knows of names, databases or the clock.
"""
