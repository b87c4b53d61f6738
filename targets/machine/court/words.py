"""What the court page and the keyboard beside the machine say of phones."""

from .door import Phone

TOO_LATE = "too late: the run has ended"
NOT_LIVE = "nothing is live"
PAUSING = "pausing"
NO_BALL = "no ball to mark yet"
NOTHING_TO_UNDO = "nothing of yours to undo"
NO_GUARD = "no phone guards; press j for the way in"
OWN_SWITCH = "The real stop is the machine's own switch."
NO_TLS = (
    "Without a certificate anybody in this network can read what phones send, and could stop, pause and mark too. "
    "Nobody can start."
)


def lost(name: str) -> str:
    return f"paused, because {name} guards and is not heard"


def marked(ball: int, hit: bool) -> str:
    return f"ball {ball}: {'hit' if hit else 'miss'}"


def undone(ball: int) -> str:
    return f"ball {ball}: mark taken back"


def changed(ball: int) -> str:
    return f"ball {ball} was marked by somebody else since"


def joined(phone: Phone, guards: bool) -> str:
    what = "only watches" if phone.watches else "can stop, pause and mark" + " and guards" * guards
    return f"{phone.name} has joined as phone {phone.number}: it {what}."


def listed(phones: tuple[Phone, ...], silent: set[int]) -> str:
    if not phones:
        return "No phone has joined."
    said = (
        f"{one.number} {one.name}{' (watches)' if one.watches else ''}{' (not heard)' if one.number in silent else ''}"
        for one in phones
    )
    return f"Phones: {', '.join(said)}. To send one away: x and its number."
