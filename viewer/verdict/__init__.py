"""Stage 9, findings to answers: ``Report -> verdict_of -> Verdict``, seven answers in the order of `Question`.

Nothing is checked or measured here: what the checks and the figures say is sorted by what a keeper asks. The data
stand in `answer`, the rules of judging in `judge`, the sentences on time and money in `amounts`.
"""

from __future__ import annotations

from viewer.checks.questions import Question
from viewer.verdict.answer import Answer, Verdict, Word
from viewer.verdict.judge import verdict_of

__all__ = ["Answer", "Question", "Verdict", "Word", "verdict_of"]
