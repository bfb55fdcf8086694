"""What the demo found, as tables on the terminal."""

from collections import Counter
from collections.abc import Iterable
from email.message import EmailMessage
from typing import Any

from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table

from coaching.demo.outcome import Outcome
from coaching.demo.people import APP_SOURCE, BUSINESS, CLIENTS, COACHES, PASSWORD
from coaching.demo.play import Played


def print_outcome(console: Console, played: Played, outcome: Outcome, messages: Iterable[EmailMessage]) -> None:
    """Print the week, the flags and the mail."""
    _print_counts(console, played)
    console.print(_clients(outcome))
    console.print(_mail(list(messages)))
    unexpected = outcome.differences()
    if unexpected:
        console.print("[bold]Not as the scenario has it:[/bold]", *unexpected, sep="\n  ")
    else:
        console.print(f"The flags that stand are exactly those of the {len(CLIENTS)} clients' true stories.\n")


def print_access(console: Console, address: str, played: Played) -> None:
    """Print where the service is and how to get in."""
    # Plain lines: they are there to be copied, so nothing may cut or wrap them.
    lines = [("API", f"{address}/api/v1"), ("Documentation", f"{address}/docs")]
    lines += [(f"Sign in ({coach.role})", coach.email) for coach in COACHES]
    lines += [("Password of each", PASSWORD), (f"API key ({APP_SOURCE})", played.api_key)]
    for name, value in lines:
        console.print(f"  {name:<32}{value}", soft_wrap=True, highlight=False, markup=False)


def _print_counts(console: Console, played: Played) -> None:
    outcomes = ", ".join(f"{count:,} {outcome}" for outcome, count in played.outcomes.items() if count)
    outcomes = outcomes or "posted by an earlier run today"
    console.print(
        f"\n[bold]{BUSINESS}[/bold] (invented): {len(COACHES)} coaches, {len(CLIENTS)} clients, "
        f"{played.sessions_assigned:,} sessions planned; log items: {outcomes}."
    )
    for caution in dict.fromkeys(played.cautions):
        console.print(f"Answered at once to a post: {caution}")


def _clients(outcome: Outcome) -> Table:
    table = Table(title="Last full week, and what needs a coach's eye", box=SIMPLE)
    for heading in ("Client", "True story"):
        table.add_column(heading, no_wrap=True)
    for heading in ("Done", "Missed", "Sets", "Load AU", "kg moved"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("Flags that stand")
    for profile in CLIENTS:
        week = outcome.weeks.get(profile.slug) or {}
        table.add_row(
            profile.name,
            str(profile.story),
            f"{week.get('sessions_done', 0)}/{week.get('sessions_planned', 0)}",
            str(week.get("sessions_missed", "")),
            str(week.get("work_sets", "")),
            _number(week.get("session_load")),
            _number(week.get("tonnage_kg")),
            ", ".join(sorted(outcome.flags.get(profile.slug, set()))),
        )
    return table


def _mail(messages: list[EmailMessage]) -> Table:
    table = Table(title="Mail received over SMTP", box=SIMPLE)
    for heading in ("To", "Subject", "Copies"):
        table.add_column(heading)
    counts = Counter((str(message["To"]), str(message["Subject"])) for message in messages)
    for (receiver, subject), count in sorted(counts.items()):
        table.add_row(receiver, subject, str(count))
    if not messages:
        table.add_row("(none in this run)", "a digest leaves once a day, at 07:00 in its coach's own zone", "")
    return table


def _number(value: Any) -> str:
    return "" if value is None else f"{float(value):,.0f}"
