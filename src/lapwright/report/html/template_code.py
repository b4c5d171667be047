"""
The templates' byte code, kept where Python keeps that of the modules beside them.

Compiling them takes longer than filling them in.  Where nothing can or may be written, they are
compiled each time, as before.
"""

import sys
from importlib.util import cache_from_source
from pathlib import Path

import jinja2
from jinja2.bccache import Bucket

from lapwright.errors import OutputError
from lapwright.outputs import whole_file


class TemplateCode(jinja2.BytecodeCache):
    """Byte code of templates in ``__pycache__``; of another source or Python it is not taken."""

    def load_bytecode(self, bucket: Bucket) -> None:
        """Read a template's byte code, if it is there."""
        try:
            with _path(bucket).open("rb") as file:
                bucket.load_bytecode(file)
        except OSError:
            bucket.reset()

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a template's byte code, unless Python is told to keep none."""
        if sys.dont_write_bytecode:
            return
        try:
            with whole_file(_path(bucket)) as part:
                part.write_bytes(bucket.bytecode_to_string())
        except OutputError:
            # The next report compiles it again.
            return


def _path(bucket: Bucket) -> Path:
    return Path(cache_from_source(str(Path(__file__).with_name(f"template_{bucket.key}.py"))))
