"""The answer first: seven questions about a program, each answered with its evidence.

`verdict_of` concludes from what the checks found, what holds where they found nothing, and what was not checked.
"""

from viewer.verdict.verdict import Answer, Answered, Verdict, verdict_of

__all__ = ["Answer", "Answered", "Verdict", "verdict_of"]
