"""Plan a magnet's drive: read what is there, compute what it will do, say what to mind."""

from tapewright.core.magnet.plan import Plan, Request, plan


def plan_drive(request: Request) -> Plan:
    """Give the plan of a drive."""
    return plan(request)
