"""Findings in the coach's words. The headline is a fact; asked against possible, with units; nobody is addressed."""

from string import Template

from .finding import Finding

HEADLINES = {
    # the sentence
    "unexpected-word": "“$found” does not fit here; wanted: $wanted",
    "unfinished": "the line stops early; next would come $wanted",
    "misplaced": "$what does not belong $where; it belongs $home",
    "mixed-indentation": "this indentation mixes blanks and tabs with the lines above",
    "line-too-long": "this line has more than $limit characters",
    "script-too-long": "the script has more than $limit lines",
    "too-deep": "$what more than $limit deep",
    # names and amounts
    "unknown-name": "there is no $kind called “$name”",
    "said-twice": "$what is said twice",
    "wrong-unit": "$what is not measured in $found; units that fit: $wanted",
    "out-of-sense": "$what: $found makes no sense; possible: $sense",
    "range-backwards": "this range runs backwards: $low is not below $high",
    "range-not-here": "$what takes one value, not a range",
    "beyond-the-net": "$found reaches the net or lies beyond it$where",
    # the head
    "program-missing": "the script has no program line",
    "head-incomplete": "the program does not say its $what",
    "hand-missing": "the player's line does not say right-handed or left-handed",
    "profile-broken": "the feeder profile $name cannot be used: $why",
    "feeder-kind": "$name is a $kind, not a $found",
    "adult-heights": "body heights are shares of an adult's stature; $stature is small for an adult",
    "stature-missing": "the height of the $part is not known: neither the player's stature nor a body line gives it",
    # zones, variations, feeds
    "zone-incomplete": "a zone needs one side and one depth",
    "reply-side": "the reply's side is said with left or right, as the player sees it",
    "spin-twice": "these spins exclude each other",
    "like-circle": "these feeds are like each other in a circle: $chain",
    "feed-incomplete": "feed $name lacks $what",
    "undetermined": "nothing fixes the flight of $name: one line more is needed, $wanted",
    "overdetermined": "too much is said: $why",
    "height-over-net": "a height over the net is one distance, such as 1.2 m over net",
    "height-on-the-full": "a ball on the full has no bounce whose top could be meant",
    "stance-place": "a stance is a distance from a line, such as 1 m behind baseline",
    "family-too-large": "these lists make $found balls of one feed; the limit is $limit",
    "steps-of-one": "so many steps need a range, such as 1 to 3 m",
    "steps-of-a-list": "so many steps go with one range, not with a list",
    "top-in-a-list": "the top of the bounce cannot stand in a list",
    "top-has-no-phase": "the top of the bounce is neither rising nor falling",
    "ladder-of-family": "$name is a family of balls; a ladder climbs with one",
    "ladder-of-one": "a ladder has two rungs or more",
    "ladder-on-the-full": "$name is met on the full; this ladder needs a ball that bounces",
    "ladder-without-up": "when the ladder goes up is not said, and its variation has no goal",
    "down-never": "$down misses in $within cannot happen",
    "set-unknown": "--set names “$name”, which this script does not give; it gives $known",
    "given-unknown": "nothing called “$name” is given",
    "use-name": "“$name” is no name of a script to use; small letters, digits, - and _, ending in .feed",
    "use-missing": "there is no script “$name” beside this one or among those that come along",
    "use-circle": "these scripts use each other in a circle: $chain",
    "use-too-much": "too much is used: at most $files scripts, at most $deep deep",
    "error-allowed": "$name is an error and cannot be allowed",
    "feeds-missing": "the script has no feed",
    # the session
    "session-empty": "the session has no block",
    "session-missing": "the script has no session: there is nothing to play",
    "rounds-empty": "rounds need blocks indented under them",
    "at-most-here": "“at most … alike” goes with mix only",
    "mix-of-one": "a mix of $name alone cannot keep its balls from being alike",
    "mix-uneven": "$name is to be $asked; with at most $alike alike no more than $possible can be had",
    "session-too-long": "the session unrolls to $found $what; the limit is $limit",
    "block-too-short": "a block of $block has no room for a ball after an interval of $interval",
    "session-length": "the session says $asked and takes $possible",
    "many-alike": "$found balls of $name in a row are all alike",
    # aiming
    "feeder-limit": "$name needs $what of $asked; the feeder has $possible",
    "out-of-reach": "$of of $wanted cannot be had for $name; possible: $range",
    "phase-not-there": "as the feeder can throw it, $name meets the stance $other at that height, not $phase",
    "behind-the-feeder": "$name lands $asked from the net; the feeder on the player's side stands $possible from it",
    "no-flight": "no flight of $name reaches its place",
    # the ball
    "net-hit": "$name strikes the net $under under the cord, which is $cord high there",
    "ceiling-hit": "$name rises to $asked; the ceiling is at $possible",
    "around-the-post": "$name crosses the net's plane $asked from the centre; the net ends at $possible",
    "out-of-court": "$name lands $out beyond the $line",
    "zone-missed": "as the feeder can be set, $name lands $off outside its $what",
    "not-met": "$name bounces a $often time before the stance",
    "over-the-head": "$name is met $height up; the player is $stature tall",
    "coarse-settings": "$what of $name: asked $asked, the nearest settings of the $feeder give $given",
    # the feeder
    "interval-short": "$name comes every $asked; the feeder needs $possible",
    "change-too-fast": "$axis from $from to $to between $before and $after takes $possible; the interval leaves $asked",
    "set-between-blocks": "$axis is set by hand between blocks; $before has $from, $after has $to",
    "no-time-to-set": "$axis is set by hand from $from to $to before this block: $asked there, $possible needed",
    "set-once": "$axis cannot change during a session; $before has $from, $after has $to",
    "hopper-empty": "the hopper is empty in this block: $asked balls since it was filled, it holds $possible",
    "over-the-cap": "$name leaves at $asked; the machine lets $possible through",
    "cannot-say": "the machine's commands cannot say $axis $setting, which $name needs: $why",
    # what will really happen
    "zone-small": "of $name only $share land in the zone; the feeder scatters them $wide by $narrow around the aim",
    "reply-none": "no reply to $name does what $variation asks",
    "reply-narrow": "the reply to $name forgives $window only",
    "reply-too-fast": "$variation asks for a reply of $asked; the player has $possible",
    "no-time-to-see": "$name is met $asked after its launch; to recognise a ball takes about $possible",
    "far-to-run": "from $before to $after the player runs $way by way of the middle, in $time",
    "feeder-in-the-way": "replies to $name pass the feeder at $asked; without a screen it takes $possible",
    "machine-in-the-way": "replies to $name pass the machine, and who stands at it, at $asked without a screen",
    # what nobody uses
    "variation-unused": "no feed aims at $name",
    "feed-unused": "feed $name is never played",
}


def headline(finding: Finding) -> str:
    """The fact, from a fixed template and the finding's facts: text from a script is only ever put in as text."""
    return Template(HEADLINES[finding.code]).safe_substitute(finding.facts)


def advice(finding: Finding) -> list[str]:
    """What might help, in words: near names, a likely slip, the names there are."""
    facts = finding.facts
    found = []
    if facts.get("near"):
        found.append(f"did the line mean {facts['near']}?")
    elif facts.get("hint"):
        found.append(facts["hint"])
    elif finding.code == "unknown-name" and facts.get("known"):
        found.append(f"possible: {facts['known']}")
    if facts.get("more"):
        found.append(f"the same holds for {facts['more']} more of its balls")
    if finding.code == "feeder-limit" and facts.get("range"):
        found.append(f"{facts['of']}: asked {facts['wanted']}, possible {facts['range']}")
    return found
