"""Jobs for other processes, which have to be able to import them."""

import os


def work(job: str) -> str:
    """Do a job, or die as a process does that has no memory left."""
    if job == "die":
        os._exit(9)
    return job.upper()


def threads(job: str) -> str:
    """How many threads of linear algebra this process may use."""
    return os.environ["OPENBLAS_NUM_THREADS"]
