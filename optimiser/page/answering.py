"""What a question under way has to show at this moment."""

from __future__ import annotations

from optimiser.page.jobs import Job
from optimiser.page.views.answer import Answer, outcome_shown
from optimiser.page.views.figures import Figures
from optimiser.requests.sentences import first_upper


def answer_of(job: Job | None, figures: Figures) -> Answer | None:
    """What the job has to show at this moment."""
    if job is None:
        return None
    if job.state == "running":
        return Answer("running", first_upper(job.told))
    if job.state == "stopped":
        return Answer("stopped", "Stopped. Nothing was changed.")
    if job.fault is None:
        words = job.words or outcome_shown(job.outcome, figures)
        if job.fault is None:  # else what was brought could not be read
            return words
    return Answer("fault", job.fault.what, job.fault.fix, job.fault.problems, again=job.fault.again)
