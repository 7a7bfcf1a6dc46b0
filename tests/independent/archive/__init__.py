"""The rooms of the checker: carrier (bytes), document, metadata, content, graphics, fonts, structure."""

import io

import pikepdf

from . import carrier, content, document, fonts, metadata, structure
from .rules import CHECKED


class Findings:
    """Failures in the order found, each named once."""

    def __init__(self):
        self.list = []

    def fail(self, rules, what):
        for rule in rules.split(", "):
            if rule not in CHECKED:
                raise KeyError(f"no such rule: {rule}")
        if (rules, what) not in self.list:
            self.list.append((rules, what))

    def need(self, held, rules, what):
        if not held:
            self.fail(rules, what)
        return bool(held)


def judge(data):
    """All failures of a file's bytes: pairs of rules and words."""
    found = Findings()
    carrier.check(found, data)
    try:
        pdf = pikepdf.open(io.BytesIO(data), suppress_warnings=True, attempt_recovery=False, inherit_page_attributes=False)
    except Exception as error:  # whatever the reader says about a broken file
        found.fail("opens", f"not readable: {error}")
        return found.list
    state = {"pdf": pdf, "data": data}
    with pdf:
        for room in (document, metadata, content, structure, fonts):
            try:
                room.check(found, pdf, state)
            except Exception as error:  # a file broken in a way that no rule foresaw
                place = error.__traceback__
                while place.tb_next:
                    place = place.tb_next
                found.fail("opens", f"{room.__name__} line {place.tb_lineno}: {type(error).__name__}: {error}")
        for warning in pdf.get_warnings():
            found.fail("opens", str(warning))
    return found.list
