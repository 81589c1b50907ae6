"""Why a print takes so long, and what would help: limiters, levers, overrun, dearest places, comparison; without Qt.

The first stage that asks "what if": it plans a program again under changed limits, speeds or waits.
"""
