"""What templates compile to, kept for every environment of one kind: compiling takes longer than filling in."""

from __future__ import annotations

from jinja2.bccache import Bucket, BytecodeCache


class CompiledTemplates(BytecodeCache):
    """One for each kind of environment, since what a template compiles to hangs on the environment's options."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Gives what was kept; the bucket itself refuses it where the template was changed since."""
        if bucket.key in self._kept:
            bucket.bytecode_from_string(self._kept[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keeps it for the next environment."""
        self._kept[bucket.key] = bucket.bytecode_to_string()


PAGES, PACK_PAGES = CompiledTemplates(), CompiledTemplates()
