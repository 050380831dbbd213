from registry.choices import AuthorizationState
from registry.selectors.duties import Duty

__all__ = ["END_NOTICE_DAYS", "authorization_duties", "paper_mark"]

END_NOTICE_DAYS = 180  # common practice, no source: a renewal takes an office months


def authorization_duties(paper, today):
    """What is due or odd about a paper on a day, by its own dates and state."""
    in_force = paper.state == AuthorizationState.IN_FORCE
    if paper.ends_on and in_force:
        days = (paper.ends_on - today).days
        if days < 0:
            return [Duty("late", "It is kept as in force, and its end date has passed. Its duties run on.", paper.ends_on)]
        if days <= END_NOTICE_DAYS:
            return [Duty("soon", "It ends soon. Ask the issuer about a renewal in time.", paper.ends_on)]
    if paper.starts_on and in_force and paper.starts_on > today:
        return [Duty("odd", "It is kept as in force, and its start date has not come.", paper.starts_on)]
    if paper.state == AuthorizationState.EXPIRED:
        return [
            Duty("info", "Expired: nothing new starts under it. Census, removal of flowers, destruction and reports go on.", paper.ends_on)
        ]
    if paper.state == AuthorizationState.SUSPENDED:
        return [Duty("odd", "Suspended. Ask the issuer what that means for what is on its way or in the ground.")]
    return []


def paper_mark(paper, today):
    """How a row of a table marks a paper: late, soon, odd or not at all."""
    return next((duty.severity for duty in authorization_duties(paper, today) if duty.severity != "info"), "")
