"""A story waits by a function: the app's own pages let no text be run as code a second time.

Where what a text says is not so at the first look, the wait would end in the page's refusal.
"""

import ast
from pathlib import Path

STORIES = Path(__file__).resolve().parents[1] / "story"


def waits(source: str) -> list[tuple[int, str]]:
    """Line and text of each wait that is given as a text where it stands."""
    return [
        (call.lineno, text.value)
        for call in ast.walk(ast.parse(source))
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Attribute)
        and call.func.attr == "wait_for_function"
        and isinstance(text := call.args[0], ast.Constant)
    ]


def test_stories_wait_by_functions():
    found = [
        (story.name, line, text)
        for story in sorted(STORIES.glob("*.py"))
        for line, text in waits(story.read_text())
    ]
    assert len(found) > 5
    assert [one for one in found if "=>" not in one[2]] == []


def test_a_text_that_is_no_function_is_seen():
    [(line, text)] = waits('page.wait_for_function("window.gone === undefined")')
    assert line == 1
    assert "=>" not in text
