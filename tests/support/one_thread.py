"""One thread a worker: small matrices shared out among threads cost more than they give."""

import os

# To be imported before anything imports numpy.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
