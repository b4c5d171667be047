"""How the pages are built: `python -m sphinx -W --keep-going -b html docs docs/_build/html`."""

import os
import shutil
import sys
from pathlib import Path

# One thread is quicker on small matrices, and notebooks run beside each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE / "_ext"))

# The notebooks live beside docs/; Sphinx reads only what is below it.
GALLERY = HERE / "notebooks"
GALLERY.mkdir(exist_ok=True)
for notebook in sorted((HERE.parent / "notebooks").glob("*.ipynb")):
    copy = GALLERY / notebook.name
    # Left alone where unchanged, so that a second build need not run it again.
    if not copy.exists() or copy.read_bytes() != notebook.read_bytes():
        shutil.copyfile(notebook, copy)

project = "Lapwright"
author = "The Lapwright authors"
project_copyright = "the Lapwright authors"

extensions = ["myst_nb", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "mathml"]
html_math_renderer = "mathml"
default_role = "py:obj"
exclude_patterns = ["_build", "jupyter_execute", "**.ipynb_checkpoints"]

myst_enable_extensions = ["amsmath", "deflist", "dollarmath"]
myst_heading_anchors = 3

nb_execution_mode = "force"
nb_execution_timeout = 300
nb_execution_raise_on_error = True
# A warning a library prints is no part of the story, and where it matters a test sees it.
nb_output_stderr = "remove"
# Tables of results as they are; nothing here asks for a script from elsewhere.
nb_ipywidgets_js = {}

autodoc_member_order = "bysource"
autodoc_typehints = "none"
napoleon_google_docstring = False
napoleon_use_ivar = True
# Types as written; a parameter called `path` must not link to some attribute of that name.
napoleon_use_param = False
napoleon_use_rtype = False

html_theme = "furo"
html_title = "Lapwright"
html_static_path = ["_static"]
html_css_files = ["pages.css"]
html_copy_source = False
html_show_sourcelink = False
