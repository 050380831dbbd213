"""Until when to store the file of a paper: so many years after the paper, its duties and its trees have all ended."""

from registry.calc.shared.part_dates import last_day
from registry.calc.shared.screen import amount_words, day_words
from registry.choices import AuthorizationState, ProgrammeKey, Recurrence
from registry.compliance.duties.recurrence import add_months
from registry.selectors.people.programme import setting

__all__ = ["keep_words"]

LONGER = "The paper, its issuer or the law of the place may ask for longer."


def keep_words(file, on):
    """Until when to store this PermitFile, in words, as of a day. One query."""
    years = setting(ProgrammeKey.KEEP_YEARS)
    if not years:
        return f"without limit, until the programme sets a number of years. {LONGER}"
    going_on = list(_going_on(file, on))
    if going_on:
        return f"{amount_words(years, 'years')} after all of this has ended: {'; '.join(going_on)}. {LONGER}"
    ended = max(_ends(file))
    until = add_months(ended, 12 * years)
    return f"until {day_words(until)} at least: {amount_words(years, 'years')} after its last day, {day_words(ended)}. {LONGER}"


def _going_on(file, on):
    """What has not ended, in words."""
    paper, duties = file.paper, _duties(file)
    closed = paper.state == AuthorizationState.CLOSED
    if not closed and paper.ends_on is None:
        yield "the paper, which names no last day"
    elif not closed and paper.ends_on >= on:
        yield f"the paper, on {day_words(paper.ends_on)}"
    unclosed = sum(not _has_ended(duty, statuses) for duty, statuses in duties.values())
    if unclosed:
        yield f"{amount_words(unclosed, 'duties')} not closed"
    trees = sum(entry.fates.alive + entry.fates.unaccounted + entry.fates.unseen for entry in file.items.entries if entry.unit == "plants")
    if trees:
        yield f"{amount_words(trees, 'trees')} not known to be dead"


def _duties(file):
    """{key of a duty: (the duty, its statuses)}."""
    duties = {}
    for duty, status in file.dates:
        duties.setdefault(duty.pk, (duty, []))[1].append(status)
    return duties


def _has_ended(duty, statuses):
    return duty.closed_on is not None or (duty.recurrence == Recurrence.ONCE and all(status.done_on for status in statuses))


def _ends(file):
    """The days on which the parts of a file ended, once all of them have."""
    yield file.paper.ends_on or max(state.on for state in file.states)
    for duty, statuses in _duties(file).values():
        yield duty.closed_on or max(status.done_on for status in statuses)
    yield from (entry.as_of or last_day(entry.planted_on) for entry in file.items.entries if entry.as_of or entry.planted_on)
    yield from (line.dispatched_on for line in file.items.lines if line.dispatched_on)
