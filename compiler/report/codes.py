"""The closed list of codes, each with its explanation: why it matters, a line that gives it, what to write instead."""

from typing import NamedTuple

from .finding import Severity

E, W, N = Severity.ERROR, Severity.WARNING, Severity.NOTE


class Code(NamedTuple):
    severity: Severity
    title: str
    why: str
    example: str
    instead: str


CODES: dict[str, Code] = {
    # ---- the sentence
    "unexpected-word": Code(
        E, "A word that does not fit its place",
        "Each line is a sentence of the language. The first word that cannot stand where it stands is marked, with what "
        "could stand there. Only this line is left out; the rest of the script is still checked.",
        "height wait, falling down", "height waist, falling"),
    "unfinished": Code(
        E, "A sentence that stops early",
        "The line ends where something has to follow, most often the unit of a number.",
        "interval 4", "interval 4 s"),
    "misplaced": Code(
        E, "A line in the wrong place",
        "Lines belong under a head: court and surface under program, depth and height under feed, reply and goal under "
        "variation, blocks under session. Indentation says under which line a line stands.",
        "feed steady\n    reply deep", "variation rally \"deep\"\n    reply deep"),
    "mixed-indentation": Code(
        E, "Blanks and tabs mixed at the start of lines",
        "What looks aligned may not be: a tab has no fixed width. A script is indented with blanks or with tabs, not both.",
        "    depth deep   (blanks)\n\tside middle  (a tab)", "    depth deep\n    side middle"),
    "line-too-long": Code(
        E, "A line that is too long",
        "No sentence needs so many characters; most often a line end was lost.",
        "(a line of more than 400 characters)", "(two lines)"),
    "script-too-long": Code(
        E, "A script that is too long",
        "No practice needs so many lines, and none of them is read then.",
        "(a script of more than 2000 lines)", "(two scripts)"),
    "too-deep": Code(
        E, "Lines, or feeds that are like one another, nested too deep",
        "Rounds in rounds in rounds, or a feed that is like another that is like another: nobody follows that for long.",
        "(33 lines, each indented under the one before)", "2 rounds\n    8 balls steady"),
    # ---- names and amounts
    "unknown-name": Code(
        E, "A name that nothing in the script or the language has",
        "Feeds, variations and zones are named by the coach, the rest by the language; LANGUAGE.md lists them.",
        "depth deap", "depth deep"),
    "said-twice": Code(
        E, "The same thing said twice",
        "Two lines that say the same thing may disagree, so one has to go. The first is shown too.",
        "feed steady\n    depth deep\n    depth short", "feed steady\n    depth deep"),
    "wrong-unit": Code(
        E, "A unit of the wrong kind",
        "Heights are lengths, intervals are times, spin is turns in a time. The units that fit are listed.",
        "height 4 s over net", "height 1.2 m over net"),
    "out-of-sense": Code(
        E, "A number beyond all sense",
        "The range is wide on purpose: it catches slips of the pen. What the feeder can do is checked separately.",
        "player right-handed, 17.2 m tall", "player right-handed, 1.72 m tall"),
    "range-backwards": Code(
        E, "A range that runs backwards",
        "A range goes from the smaller to the larger value.",
        "depth 3 to 1 m inside baseline", "depth 1 to 3 m inside baseline"),
    "range-not-here": Code(
        E, "A range where one value is needed",
        "A place to stand, a spin or a pace is one value.",
        "stance 1 to 2 m behind baseline", "stance 1.5 m behind baseline"),
    "beyond-the-net": Code(
        E, "A place at the net or beyond it",
        "Where the player stands, where a ball lands and where a feeder stands is counted in one half of the court. From "
        "the baseline the net is half a court away; on a smaller court that is less.",
        "stance 12.5 m inside baseline", "stance 2.5 m inside baseline"),
    # ---- the head
    "program-missing": Code(
        E, "No program line", "Court, surface, player and feeder hold for the whole script and stand under its program line.",
        "feed steady", "program \"Backhand wing\""),
    "head-incomplete": Code(
        E, "Something the program has to say",
        "How the ball bounces, who plays and who feeds decide every flight, so they are never assumed.",
        "program \"Backhand wing\"\n    surface hard",
        "program \"Backhand wing\"\n    surface hard\n    player right-handed, 1.72 m tall\n    feeder machine club"),
    "hand-missing": Code(
        E, "The player's hand is missing", "Forehand and backhand sides follow from it.",
        "player 1.72 m tall", "player right-handed, 1.72 m tall"),
    "profile-broken": Code(
        E, "A feeder profile that cannot be used",
        "A profile states limits that keep people safe, so a broken one is refused whole. Whoever wrote it finds what is "
        "wrong, with its line, in the message, and every key in FEEDERS.md; whoever did not takes one that comes along.",
        "feeder machine mine", "feeder machine club"),
    "feeder-kind": Code(
        E, "Machine and person confused", "The profile says which of the two it describes.",
        "feeder person club", "feeder machine club"),
    "adult-heights": Code(
        W, "Body heights of an adult for somebody small",
        "Knee, waist and shoulder are computed as shares of an adult's stature. For children, and for players in a "
        "wheelchair, heights are better measured and written in a body line.",
        "player right-handed, 1.30 m tall",
        "player right-handed, 1.30 m tall\n    body knee 0.36 m, waist 0.78 m, shoulder 1.02 m"),
    "stature-missing": Code(
        E, "A body height without a body", "A height such as waist needs the player's stature, or a body line.",
        "player right-handed", "player right-handed, 1.72 m tall"),
    # ---- zones, variations, feeds
    "zone-incomplete": Code(
        E, "A zone without side or depth", "A zone is one side line and one depth line.",
        "zone pocket\n    depth short", "zone pocket\n    depth short\n    side left corner"),
    "reply-side": Code(
        E, "Forehand or backhand in a reply",
        "Whose forehand the reply goes to is not known; left and right are, as the player sees them.",
        "reply deep, to backhand corner", "reply deep, to left corner"),
    "spin-twice": Code(
        E, "Spins that exclude each other", "Topspin and backspin are one axis; flat is no spin at all.",
        "spin topspin 900 rpm and backspin 300 rpm", "spin topspin 900 rpm and sidespin 300 rpm to the left"),
    "like-circle": Code(
        E, "Feeds that are like each other in a circle", "Somewhere the lines have to be written out.",
        "feed a, like b\nfeed b, like a", "feed a\n    depth deep\nfeed b, like a"),
    "feed-incomplete": Code(
        E, "A feed that lacks a line",
        "Side, depth, stance, spin and interval are needed, of the feed's own or of the feed it is like.",
        "feed steady\n    depth deep", "feed quick, like steady\n    depth short"),
    "undetermined": Code(
        E, "Nothing fixes the flight",
        "Place and spin leave many flights open. One line more decides: a height over the net, a height at the player, a "
        "pace, or a time to contact. On the full the height at the player is the place, so one of the others is needed.",
        "feed steady\n    depth deep\n    spin flat", "feed steady\n    depth deep\n    spin flat\n    height waist, falling"),
    "overdetermined": Code(
        E, "One line too many",
        "Height over the net, height at the player, pace and time to contact each fix the flight alone; two of them "
        "can hardly both be met. In a feed that is like another, an own line replaces the inherited one.",
        "height waist, falling\npace 90 km/h", "pace 90 km/h"),
    "height-over-net": Code(
        E, "A height over the net that is no distance", "Over the net a height is measured from the cord.",
        "height knee over net", "height 1.2 m over net"),
    "height-on-the-full": Code(
        E, "Top of bounce, on the full", "On the full the ball does not bounce before it is met.",
        "height top of bounce, on the full", "height shoulder, on the full"),
    "stance-place": Code(
        E, "A stance that is a zone", "Where the ball is met is one line across the court.",
        "stance deep", "stance 1 m behind baseline"),
    "family-too-large": Code(
        E, "A family with too many balls", "Two lists in one feed are combined in every way; fewer make a practice.",
        "height 0.8 to 1.4 m, in 20 steps\ndepth 1 to 4 m inside baseline, in 20 steps",
        "height 0.8 to 1.4 m, in 4 steps\ndepth 1 to 4 m inside baseline, in 4 steps"),
    "steps-of-one": Code(
        E, "So many steps of one value", "A range is divided into so many equal parts, and each part is aimed at.",
        "depth 2 m inside baseline, in 5 steps", "depth 1 to 3 m inside baseline, in 5 steps"),
    "steps-of-a-list": Code(
        E, "So many steps of a list", "A list says its values itself.",
        "height knee, waist, in 3 steps", "height knee, waist"),
    "top-in-a-list": Code(
        E, "Top of bounce in a list", "It is no height but a moment; a feed of its own says it.",
        "height waist, top of bounce", "height top of bounce"),
    "top-has-no-phase": Code(
        E, "Top of bounce, rising or falling", "At its top the ball does neither.",
        "height top of bounce, rising", "height top of bounce"),
    "ladder-of-family": Code(
        E, "A ladder of a family", "Each rung is one ball, so that hits and misses mean the same all through it.",
        "feed steady\n    height knee, waist", "feed steady\n    height waist"),
    "ladder-of-one": Code(
        E, "A ladder with one rung", "There is nothing to climb.",
        "ladder rocket, up to 40 balls, spin flat", "ladder rocket, up to 40 balls, pace 70, 80, 90 km/h"),
    "ladder-on-the-full": Code(
        E, "A ladder of bounces, on the full", "A ball on the full has no depth and no height after the bounce.",
        "ladder volley, up to 20 balls, depth short, deep", "ladder volley, up to 20 balls, pace 40, 50, 60 km/h"),
    "ladder-without-up": Code(
        E, "A ladder without a way up", "The rule stands under the ladder, or is the goal of the variation aimed at.",
        "ladder rocket, up to 40 balls, pace 70, 80 km/h",
        "ladder rocket, up to 40 balls, pace 70, 80 km/h\n    up 8 in a row"),
    "down-never": Code(
        E, "A way down that never comes", "The misses are counted among the last so many balls.",
        "down 4 misses in 3", "down 2 misses in 6"),
    "set-unknown": Code(
        E, "An amount set that the script does not give", "Only what the script gives a name can be set for a run.",
        "feedwright check wing.feed --set rythm=5s", "feedwright check wing.feed --set rhythm=5s"),
    "given-unknown": Code(
        E, "An amount that is not given", "What `given` names stands in the program's lines with its amount.",
        "interval given rythm", "interval given rhythm"),
    "use-name": Code(
        E, "A script to use, by a name that is none",
        "Scripts are found beside the script that uses them, or among those that come along, and nowhere else.",
        "use \"../elsewhere/feeds.feed\"", "use \"feeds.feed\""),
    "use-missing": Code(
        E, "A script to use that is not there", "It is looked for beside the script, then among those that come along.",
        "use \"fedes.feed\"", "use \"feeds.feed\""),
    "use-circle": Code(
        E, "Scripts that use each other in a circle", "What both need goes into a third.",
        "use \"a.feed\"   (in b.feed, which a.feed uses)", "use \"shared.feed\""),
    "use-too-much": Code(
        E, "Too many scripts used", "A practice stays readable while what it uses is at hand.",
        "(seventeen use lines)", "use \"shared.feed\""),
    "error-allowed": Code(
        E, "An error that was to be allowed", "Warnings and notes can be switched off; an error speaks against launching.",
        "allow net-hit", "allow feed-unused"),
    "feeds-missing": Code(
        E, "No feed", "A feed is one kind of ball; without one there is nothing to solve.",
        "program \"Backhand wing\"", "feed steady aims rally"),
    # ---- the session
    "session-empty": Code(
        E, "A session without blocks", "Blocks stand indented under the session.",
        "session \"Half an hour\"", "session \"Half an hour\"\n    4 min steady"),
    "session-missing": Code(
        E, "No session", "A session says which feeds are played, for how long or how often, in which order.",
        "feed steady", "session \"Half an hour\"\n    4 min steady"),
    "rounds-empty": Code(
        E, "Rounds of nothing", "What is repeated stands indented under the rounds.",
        "2 rounds", "2 rounds\n    8 balls steady"),
    "at-most-here": Code(
        E, "At most so many alike, without a mix", "Only a mix is drawn; a cycle has its order.",
        "4 min cycle steady, kicker, at most 2 alike", "4 min mix steady, kicker, at most 2 alike"),
    "mix-of-one": Code(
        E, "A mix of one feed", "With one feed every ball is alike.",
        "4 min mix steady, at most 2 alike", "4 min mix steady, kicker, at most 2 alike"),
    "session-too-long": Code(
        E, "A session without end", "Rounds within rounds multiply. The limit is far beyond what anybody can play.",
        "200 rounds\n    200 balls steady", "2 rounds\n    20 balls steady"),
    "block-too-short": Code(
        E, "A block without a ball",
        "The interval runs since the last launch of the block before, so a block shorter than that has no ball.",
        "3 s steady", "1 min steady"),
    "session-length": Code(
        W, "A session that is not as long as it says", "Blocks, rests and collects add up to another total.",
        "session \"Half an hour\", lasts 30 min\n    4 min steady", "session \"Warm-up\", lasts 4 min\n    4 min steady"),
    "mix-uneven": Code(
        W, "A mix whose shares cannot be kept",
        "Where one ball has most of a mix, the others are too few to part it into so short runs. The limit is kept and "
        "the shares are not, and the order is then nearly fixed.",
        "mix 3 steady, kicker, at most 2 alike", "mix 3 steady, kicker, at most 4 alike"),
    "many-alike": Code(
        W, "Many balls that are all alike",
        "More than 30 in a row that differ in nothing: the player knows each before it comes, and learns no choosing. A "
        "family, a cycle or a mix brings the change; a machine that is set by hand has shorter blocks.",
        "4 min steady", "4 min mix steady, kicker, at most 2 alike"),
    # ---- aiming
    "feeder-limit": Code(
        E, "The feeder cannot give this ball",
        "A flight exists that does what is asked, and the feeder's profile does not reach so far.",
        "pace 150 km/h", "pace 100 km/h"),
    "out-of-reach": Code(
        E, "No flight to this place gives what is asked",
        "With place and spin as they are, all launches the feeder has were flown; the range they give is shown.",
        "height eye, falling", "height shoulder, falling"),
    "phase-not-there": Code(
        E, "Rising asked, falling found, or the other way round",
        "The same height at the stance is met on the way up or on the way down; this ball has only one of them.",
        "height knee, rising", "height knee, falling"),
    "behind-the-feeder": Code(
        E, "A ball that lands behind its feeder",
        "On the player's side the feeder stands between the net and where the ball lands, and feeds away from the net.",
        "feeder person basket, on the player's side, on baseline",
        "feeder person basket, on the player's side, 3 m from net"),
    "no-flight": Code(
        E, "The place cannot be reached", "No launch at any elevation lands there.",
        "depth 0.2 m from net", "depth short"),
    # ---- the ball
    "net-hit": Code(
        E, "Into the net", "Measured where the ball crosses: the cord is lowest in the middle and rises to the posts.",
        "pace 110 km/h", "pace 80 km/h"),
    "ceiling-hit": Code(
        E, "A ball that strikes the ceiling",
        "Under a roof the ball has to stay below the lowest beam, lamp or net over the court, from the feeder to the "
        "player. Replies are held to it too: what goes higher does not count as a reply.",
        "ceiling 6 m\n...\n    height 5 m over net", "height 3 m over net"),
    "around-the-post": Code(
        E, "Outside the net posts", "The ball passes beside the net; that is a legal shot in play and no feed.",
        "side 1 m inside left sideline", "side middle"),
    "out-of-court": Code(
        E, "Outside the lines", "The ball's footprint touches neither line nor court.",
        "depth 0.5 m behind baseline", "depth 0.5 m inside baseline"),
    "zone-missed": Code(
        E, "Outside its zone once settings are rounded",
        "The device takes settings in steps. The nearest steps were flown, and this is where the ball then lands.",
        "depth 1.00 to 1.05 m inside baseline", "depth 0.5 to 2 m inside baseline"),
    "not-met": Code(
        E, "The ball does not come to the stance", "It bounces again before it gets there.",
        "stance 4 m behind baseline", "stance 1 m behind baseline"),
    "over-the-head": Code(
        W, "Met over the player's head",
        "So high only an overhead reaches it. Met later, or with less topspin, the ball is lower. A practice of overheads "
        "allows it: allow over-the-head.", "stance 1 m behind baseline", "stance 3 m behind baseline"),
    "coarse-settings": Code(
        W, "The settings are too coarse for what is asked",
        "The ball is in its zone, and differs from what was asked by more than a player would overlook.",
        "height 1.05 m, falling", "height waist, falling"),
    # ---- the feeder
    "interval-short": Code(
        E, "Faster than the feeder",
        "Between two launches the feeder needs its shortest interval and its jitter. An interval between contacts is no "
        "shorter either, even where the balls before fly for so long that each launch has time: a sheet has one interval "
        "to set, and another order of the balls stays possible.",
        "interval 1 s", "interval 3 s"),
    "change-too-fast": Code(
        E, "No time for the change between two balls",
        "Wheels and head move at the profile's rates, after the last ball and before the next.",
        "interval 2 s", "interval 5 s"),
    "set-between-blocks": Code(
        E, "A change by hand in the middle of a block", "What is set by hand stays as it is for a whole block.",
        "4 min cycle steady, kicker", "2 min steady\nrest 30 s\n2 min kicker"),
    "no-time-to-set": Code(
        E, "No time to set the device by hand", "Somebody walks to the machine, with all balls at rest.",
        "2 min steady\n2 min kicker", "2 min steady\nrest 30 s\n2 min kicker"),
    "set-once": Code(
        E, "A setting that stays for the whole session", "The profile says that it cannot be changed.",
        "feed kicker, like steady\n    spin heavy", "feed kicker, like steady"),
    "hopper-empty": Code(
        E, "More balls than the hopper holds", "A collect fills it again.",
        "20 min steady", "8 min steady\ncollect\n8 min steady"),
    "over-the-cap": Code(
        E, "Faster than the machine lets through",
        "The profile states the greatest speed that the machine throws at all, whatever its wheels could do.",
        "pace 109 km/h", "pace 100 km/h"),
    "cannot-say": Code(
        E, "A setting that the machine's commands cannot say",
        "The profile gives the machine's own commands. Where they have no place for a setting, or too few digits, the "
        "machine would throw another ball than the one that was checked.",
        "spin topspin 300 rpm", "spin flat"),
    # ---- what will really happen
    "zone-small": Code(
        W, "A zone too small for the feeder",
        "Every feeder scatters its balls. The share is computed from the profile's repeatability; the two lengths are one "
        "standard deviation along and across the longer way.",
        "depth 0.1 to 0.6 m inside baseline", "depth 0.5 to 3 m inside baseline"),
    "reply-none": Code(
        W, "A reply that cannot be",
        "From where this ball is met, no stroke of that spin and pace clears the net by what is asked and lands in the "
        "target.",
        "reply short, at least 3 m over net, flat, 110 km/h", "reply deep, at least 1 m over net, topspin 1500 rpm"),
    "reply-narrow": Code(
        W, "A reply that forgives next to nothing",
        "The window is the range of angles at which the ball may leave the racket. Good players vary by more than a degree; "
        "more topspin, less pace or less height over the net widens it.",
        "reply deep, flat, 130 km/h", "reply deep, topspin 1500 rpm, 90 km/h"),
    "reply-too-fast": Code(
        W, "A reply faster than the player", "The player's line says the fastest reply.",
        "reply deep, 140 km/h", "reply deep, 90 km/h"),
    "no-time-to-see": Code(
        W, "No time to see what comes",
        "A player who does not know which ball comes needs about 0.38 s to recognise it (Laming 1968, as quoted in reviews).",
        "stance 1 m from net", "stance 4 m from net"),
    "far-to-run": Code(
        W, "Far to run",
        "In play about 3 m are run for a stroke, and four strokes in five are within 2.5 m of the ready position "
        "(Fernandez and others, 2006). A longer interval gives the player time.",
        "interval 2.5 s", "interval 5 s"),
    "feeder-in-the-way": Code(
        W, "The feeder stands where replies fly",
        "A struck ball hurts, and a feeder who looks at the basket does not see it. Stand aside, behind a screen, or choose "
        "another target.",
        "feeder person racket, on centre", "feeder person racket, on centre, behind a screen"),
    "machine-in-the-way": Code(
        N, "The machine stands where replies fly",
        "Whoever stays at its switch needs a screen or has to stand aside; balls under a machine jam it.",
        "feeder machine club, on centre", "feeder machine club, on centre, behind a screen"),
    # ---- what nobody uses
    "variation-unused": Code(
        W, "A variation that no feed aims at", "A job for the player that no ball calls for.",
        "variation climb \"high and deep\"", "feed kicker aims climb, like steady"),
    "feed-unused": Code(
        W, "A feed that is never played", "It is solved and checked, and no block names it.",
        "feed kicker aims climb, like steady", "4 min cycle steady, kicker"),
}  # fmt: skip
