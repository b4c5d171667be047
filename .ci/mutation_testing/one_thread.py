"""One thread, and no compiled files left behind; to be imported before numpy."""

import os

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
