"""What templates compile to is kept for the next environment, never longer than the template itself stays."""

from __future__ import annotations

from jinja2 import DictLoader, Environment

from webapp.compiled_templates import CompiledTemplates


def test_a_template_is_compiled_once_and_anew_where_it_was_changed() -> None:
    """Two environments share the work; a changed template is never answered with what it was."""
    kept, compiled = CompiledTemplates(), []

    class Counting(Environment):
        def _compile(self, source: str, filename: str) -> object:  # type: ignore[override]
            compiled.append(filename)
            return super()._compile(source, filename)

    def says(template: str) -> str:
        return Counting(loader=DictLoader({"one": template}), bytecode_cache=kept).get_template("one").render(n=2)

    assert [says("{{ n }} days"), says("{{ n }} days"), says("{{ n }} weeks")] == ["2 days", "2 days", "2 weeks"]
    assert len(compiled) == 2
