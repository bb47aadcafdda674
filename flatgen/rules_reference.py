"""The table of rules in ``checks/README.md``, from the rules themselves: ``python -m flatgen.rules_reference``."""

from flatgen.brake.rules import BRAKE_RULES
from flatgen.checks.letters import LETTERS, LETTERS_RULE
from flatgen.checks.rules import RULES
from flatgen.checks.stock import SHORT_GRAIN, SHORT_GRAIN_RULE
from flatgen.checks.ways import PROCESS_RULE
from flatgen.draw.router import ROUTER_RULES
from flatgen.model.results import NO_STOCK
from flatgen.model.tally import OLD_BLANKS
from flatgen.records.stale import OLD_BLANKS_RULE

STOCK_RULE = (NO_STOCK, "forbid", "Every piece finds a place on a sheet on hand or to buy.", "derived")


def names() -> tuple[str, ...]:
    """Every rule that a finding can name, sorted: these a job may waive."""
    own = (STOCK_RULE[0], PROCESS_RULE[0], LETTERS, SHORT_GRAIN, OLD_BLANKS)
    return tuple(sorted((*RULES.names(), *BRAKE_RULES, *ROUTER_RULES, *own)))


def table() -> str:
    """Rows of a Markdown table: rule, severity, what it says, source."""
    rows = [(name, str(rule.severity), rule.explain, str(rule.source)) for name, rule in RULES]
    rows += [(name, *rest) for name, rest in (BRAKE_RULES | ROUTER_RULES).items()]
    rows += [STOCK_RULE, LETTERS_RULE, SHORT_GRAIN_RULE, PROCESS_RULE, OLD_BLANKS_RULE]
    head = "| rule | severity | says *(source)* |\n| --- | --- | --- |\n"
    return head + "\n".join(
        f"| `{name}` | {severity} | {says} {source} |" for name, severity, says, source in _cited(rows)
    )


def _cited(rows: list[tuple[str, str, str, str]]) -> list[tuple[str, str, str, str]]:
    return [(name, severity, says, f"*({source})*") for name, severity, says, source in sorted(rows)]


if __name__ == "__main__":
    print(table())
