"""What the court page and the keyboard beside the machine say of phones."""

from .door import Phone

TOO_LATE = "too late: the run has ended"
NOT_LIVE = "nothing is live"
PAUSING = "pausing"
NO_BALL = "no ball to mark yet"
NOTHING_TO_UNDO = "nothing of yours to undo"
NO_CODE = "No QR code can be drawn here (pip install 'feedwright[court]'); type the address into the phone's browser."
HERE_ALONE = "Only this computer can open this page."
SEND_WHICH = "Which phone? Its number, w for all who only watch; any other key for none."
NOBODY = "There is no such phone."
NO_GUARD = "no phone guards; press j for the way in"
OWN_SWITCH = "The real stop is the machine's own switch."
NO_TLS = (
    "Without a certificate anybody in this network can read what phones send, and could stop, pause and mark too. "
    "Nobody can start."
)

SHEET_MAY = "This phone shows the next ball, and its marks go into the log beside it."
SHEET_STOPS_NOTHING = "This page stops nothing: if anyone calls STOP, stop feeding."
SHEET_KEYS = "j  another phone     q  end"


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


def feeds(phone: Phone) -> str:
    return f"{phone.name} has joined as phone {phone.number}; its marks come here."


def listed(phones: tuple[Phone, ...], silent: set[int]) -> str:
    if not phones:
        return "No phone has joined."
    said = (
        f"{one.number} {one.name}{' (watches)' if one.watches else ''}{' (not heard)' if one.number in silent else ''}"
        for one in phones
    )
    return f"Phones: {', '.join(said)}. x and a number sends one away (0 for 10), x and w all who only watch."


def invited(address: str, watch: bool) -> str:
    return f"For players who wait, to watch only: {address}" if watch else f"For one phone: {address}"


def sent_away(phone: Phone) -> str:
    return f"{phone.name} was sent away."


def here_alone(own: str | None) -> str:
    return HERE_ALONE + (f" For phones in your network: --court {own}" if own else "")
