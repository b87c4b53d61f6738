"""Each terminal of the grammar in words for people.

A keyword is its own text. The others are described.
"""

KINDS = {
    "NUMBER": "a number",
    "UNIT": "a unit",
    "TITLE": "a text in double quotes",
    "FREE_TEXT": "some words",
    "NAME": "a name",
    "COMMA": "a comma",
    "MUCH": "light, medium or heavy",
    "STATE": "pressureless or worn",
    "$END": "the end of the line",
}

KEYWORDS = {
    "ABOVE": "above", "ABOVE_GROUND": "above ground", "ACCEPT": "accept",
    "AFTER": "after", "AFTER_EVERY": "after every", "AFTER_ONE_BOUNCE": "after one bounce",
    "AFTER_RALLY": "after a rally of",
    "AFTER_TWO_BOUNCES": "after two bounces", "AIMS": "aims", "AIR": "air",
    "ALIKE": "alike", "ALTITUDE": "altitude", "AND": "and", "ANGLE": "angle", "ARC": "arc", "AT_LEAST": "at least",
    "AT_MOST": "at most", "AT_THE_TOP": "at the top", "BACKSPIN": "backspin", "BALL": "ball", "BALLS": "balls",
    "BASELINE": "baseline",
    "BEHIND": "behind", "BEHIND_A_SCREEN": "behind a screen", "BEHIND_BOUNCE": "behind the bounce", "BELOW": "below",
    "BETWEEN_CONTACTS": "between contacts",
    "BETWEEN_ROUNDS": "between rounds", "BETWEEN_SETS": "between sets",
    "BODY": "body", "CALLED": "called", "CEILING": "ceiling", "CENTRE": "centre", "CHANGEOVER": "changeover",
    "CHANGING_EVERY": "changing every", "COLLECT": "collect", "COURT": "court", "CROSSCOURT": "crosscourt",
    "CYCLE": "cycle", "DEPTH": "depth",
    "DIRECTION": "direction", "DOUBLES_POSTS": "doubles posts", "DOWN": "down", "DOWN_THE_LINE": "down the line",
    "DOWN_THE_MIDDLE": "down the middle", "EACH": "each", "EASIER": "easier", "EVERY": "every",
    "FALLING": "falling", "FASTEST": "fastest", "FEED": "feed", "FEEDER": "feeder", "FIRST_TO": "first to",
    "FLAT": "flat",
    "FOR": "for", "FRICTION": "friction", "FROM": "from", "FROM_NET": "from net", "FROM_THE_START": "from the start",
    "GIVEN": "given", "GOAL": "goal", "GRIP": "grip", "HARDER": "harder", "HEIGHT": "height", "HIGH": "high",
    "HIGHEST": "highest", "HIGH_ALTITUDE": "high altitude", "HIT": "hit", "HIT_IF": "hit if",
    "HOPPER": "hopper",
    "IF_MISSED": "if missed", "IN_COURT": "in court", "PAST_SERVICE_LINE": "past service line", "PLAYS": "plays",
    "POINT": "point", "POINTS": "points", "SERVES": "serves", "THEN": "then",
    "HUMIDITY": "humidity", "IN": "in", "INSIDE": "inside", "INTERVAL": "interval", "INTO": "into",
    "IN_ALL": "in all",
    "IN_A_ROW": "in a row", "IN_ORDER": "in order", "LADDER": "ladder", "LASTS": "lasts",
    "LAST_RUNG": "the last rung is won", "LEFT_HANDED": "left-handed",
    "LETS_GO_AT": "lets go at",
    "LIKE": "like", "LIMIT": "limit", "LONGEST": "longest", "LOOPED": "looped", "LOW": "low", "LOWEST": "lowest",
    "MACHINE": "machine", "MISSES": "misses", "MIX": "mix", "MOST": "most", "NET_ON": "net on",
    "NEXT_POINT": "next point", "NOTE": "note",
    "NOTHING": "nothing", "NO_HIGHER_THAN": "no higher than", "NO_LOWER_THAN": "no lower than",
    "OF": "of",
    "OF_CENTRE": "of centre", "OF_EACH": "of each",
    "ON": "on", "ON_A_RUNG": "sets on a rung",
    "ONE_SIDE": "to one side", "ON_PLAYERS_SIDE": "on player's side", "ON_THE_FULL": "on the full",
    "OR": "or", "OVER_NET": "over net", "PACE": "pace", "PERCENT": "%", "PERSON": "person", "PLAYER": "player",
    "PROGRAM": "program",
    "RAISED_TO": "raised to",
    "REACH": "reach", "RECORD": "record",
    "REPLY": "reply", "REST": "rest", "RESTITUTION": "restitution", "RIGHT_HANDED": "right-handed",
    "RISING": "rising", "ROTATION": "rotation",
    "ROUNDS": "rounds", "SAME_AS": "same as", "SCATTER": "scatter", "SCORE": "score", "SEA_LEVEL": "sea level",
    "SEED": "seed",
    "SERVICE_LINE": "service line",
    "SESSION": "session", "SETS": "sets", "SHORTEST": "shortest", "SIDE": "side", "SIDELINE": "sideline",
    "SIDESPIN": "sidespin",
    "SLOWEST": "slowest", "SPIN": "spin", "STAGE": "stage", "STANCE": "stance",
    "STARTS": "starts", "STEPS": "steps", "STICKS": "sticks", "STROKE": "stroke",
    "SURFACE": "surface", "TAKING_TURNS": "taking turns", "TALL": "tall", "THERE_AND_BACK": "in order, then back",
    "THE_GOAL": "the goal",
    "TIME": "time", "TO": "to", "TOPSPIN": "topspin", "TOP_OF_BOUNCE": "top of bounce", "TOGETHER": "together",
    "TO_CONTACT": "to contact", "TO_BACKHAND_SIDE": "to backhand side", "TO_FOREHAND_SIDE": "to forehand side",
    "TO_THE_LEFT": "to the left", "TO_THE_RIGHT": "to the right", "TWO_BOUNCES": "two bounces",
    "TWO_HANDED_BACKHAND": "two-handed backhand", "TYPE": "type", "UNTIL": "until",
    "UP": "up", "UP_TO": "up to", "USE": "use",
    "VARIATION": "variation", "WAY": "way", "WHEN": "when", "WHEN_EMPTY": "when empty", "WHERE_IT_IS": "where it is",
    "WIND": "wind", "WITHIN": "within", "WON_WITH": "won with", "ZONE": "zone",
}  # fmt: skip

# Which sentences may stand under which; "" is the margin.
UNDER = {
    "": ("program", "zone", "variation", "feed", "point", "session", "use", "accept"),
    "program": ("given", "court", "ceiling", "surface", "ball", "player", "body", "rotation", "feeder", "air",
        "seed", "limit", "note"),
    "zone": ("side", "depth"),
    "variation": ("when", "reply", "hitif", "goal", "stroke", "note"),
    "feed": (
        "side", "depth", "into", "stance", "height", "spin", "pace", "time", "same", "interval", "arc", "way", "starts",
        "stroke", "stands", "together", "note",
    ),
    "point": ("serves", "plays", "won", "missed", "note"),
    "session": (
        "timed", "counted", "rounds", "for", "rest", "collect", "refill", "ownserves", "ladder", "hitif", "goal",
        "note",
    ),
    "rounds": (
        "timed", "counted", "rounds", "for", "rest", "collect", "ownserves", "ladder", "stands", "hitif", "score",
        "goal", "scoregoal", "note",
    ),
    "for": ("timed", "counted", "rounds", "rest", "collect", "ownserves", "ladder", "hitif", "note"),
    "timed": ("interval", "stands", "blockrest", "until", "hitif", "score", "goal", "scoregoal", "record", "note"),
    "counted": (
        "interval", "stands", "blockrest", "game", "until", "hitif", "score", "goal", "scoregoal", "record", "note",
    ),
    "ladder": (
        "begin", "up", "down", "mostsets", "downsets", "lastwon", "setrest", "interval", "stands", "hitif", "note",
    ),
    "rest": ("note",),
    "ownserves": ("goal", "note"),
    "blockrest": ("note",),
    "setrest": ("note",),
    "collect": ("note",),
    "refill": ("note",),
}  # fmt: skip

# What to call a sentence whose kind is not the word that opens it.
SENTENCES = {
    "timed": "a block of minutes", "counted": "a block of balls", "rounds": "a block of rounds",
    "serves": "player serves", "ownserves": "a block of serves",
    "missed": "if missed", "refill": "collect when empty", "game": "first to",
    "setrest": "rest between sets", "won": "won with", "blockrest": "rest after every so many balls",
    "mostsets": "at most so many sets on a rung", "downsets": "down after so many sets",
    "lastwon": "until the last rung is won", "scoregoal": "goal score", "hitif": "hit if", "same": "ball same as",
    "stands": "feeder",
}  # fmt: skip
OPENED_BY = {
    "serves": "player", "missed": "if missed", "refill": "collect", "game": "first to", "setrest": "rest",
    "blockrest": "rest", "won": "won with", "mostsets": "at most", "hitif": "hit if",
    "downsets": "down", "lastwon": "until", "scoregoal": "goal", "same": "ball", "stands": "feeder",
}  # fmt: skip
"""The keyword that opens a sentence, where its kind has another name."""

# Sentences whose names are the language's own, such as deep and waist, and the words with which keywords begin.
OWN_NAMES = ("court", "surface", "ball", "player", "body", "side", "depth", "stance", "height", "spin")
OPENING_WORDS = {keyword.split()[0] for keyword in KEYWORDS.values()}
