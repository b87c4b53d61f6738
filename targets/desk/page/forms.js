// What the forms ask: each row with its words and its blanks, each blank with what it may hold, and the words around it.

const NUMBER = { type: "number", step: "any", required: true };
const number = (value) => ({ ...NUMBER, value }), count = (value) => ({ ...NUMBER, step: 1, value });
const NAME = { type: "text", required: true, pattern: "[A-Za-z][A-Za-z0-9_]*(-[A-Za-z0-9_]+)*", title: "one word: letters, numbers and hyphens" };
const named = (placeholder) => ["Name, one word", ["name", { ...NAME, placeholder }]];

// A row: its words, then its blanks, each with its kind and what stands behind it.
export const FORMS = {
  variation: ["What the player does", [
    named("deep"),
    ["In a few words", ["title", { type: "text", required: true, placeholder: "deep to the corner" }]],
    ["When (may stay empty)", ["when", { type: "text", placeholder: "the ball comes short" }]],
    ["The reply lands inside the baseline", ["near", number(0.5), "to"], ["far", number(5), "m"]],
    ["and goes", ["toward", "toward"]],
    ["over the net by at least", ["over", number(0.5), "m"]],
    ["How fast at least (may stay empty)", ["pace", { type: "number", step: "any" }, "km/h"]],
    ["Goal (of 0 balls: in a row)", ["goal", count(5), "of"], ["among", count(0), "balls"]],
    ["The balls that ask for it", ["balls", "asking"]],
  ]],
  ball: ["A ball", [
    named("short"),
    ["Side", ["side", "side"]],
    ["How it is met", ["bounce", "bounce"], ["met", number(1.2), "m"]],
    ["Where it is met", ["stance_from", "stance_from"], ["stance", number(0.5), "m"]],
    ["Where it lands", ["depth", "depth"], ["near", number(1), "to"], ["far", number(4), "m inside the baseline"]],
    ["How high it is", ["level", "level"], ["height", number(1), "m"]],
    ["How fast it is", ["speed", "speed"], ["pace", number(60), "km/h"], ["time", number(1.5), "s"]],
    ["Spin", ["turn", "turn"], ["rpm", number(1000), "rpm"]],
    ["Time to the next ball", ["interval", number(6), "s"]],
    ["The player's goal (0: none; of 0 balls: in a row)", ["goal", count(0), "of"], ["among", count(0), "balls"], ["goes", "goes"]],
    ["What the player does with it", ["aims", "aims"]],
    ["Note on the sheet", ["note", { type: "text", maxLength: 80, placeholder: "none" }]],
    ["When it is played", ["played", "played"]],
    ["How long", ["amount", number(8)], ["measure", "counts"]],
    ["Before it", ["pause", "pause"], ["rest", number(0), "s"]],
  ]],
  point: ["A point: balls that belong together", [
    named("attack"),
    ["Its first ball", ["first", "balls"]], ["Its second ball", ["second", "balls"]], ["Its third ball", ["third", "balls"]],
    ["After a miss", ["missed", "missed"]],
  ]],
  part: ["A block of the session", [
    ["What it is", ["part", "part"]],
    ["Its balls", ["balls", "ticked"]], ["Their order", ["order", "order"]],
    ["How long", ["amount", number(3)], ["measure", "measure"]],
    ["Before it", ["pause", "pause"], ["before", number(0), "s"]],
    ["How many times", ["rounds", count(1)]],
    ["Rest between these times", ["rest", number(0), "s"]],
    ["At most", ["most", count(30), "balls"]],
    ["What changes from step to step", ["step", "step"]],
    ["From", ["first", number(60), "to"], ["last", number(80)]], ["in", ["rungs", count(4), "steps"]],
    ["Up after (of 0 balls: in a row)", ["up", count(3), "hits of"], ["up_in", count(0), "balls"]],
    ["Down after", ["down", count(2), "misses among six balls"]],
  ]],
  block: ["This block of the session", [
    ["Its balls", ["balls", "ticked"]], ["Their order", ["order", "order"]],
    ["How long", ["amount", number(8)], ["measure", "measure"]],
    ["Rest before it", ["before", number(0), "s"]],
    ["Rest after it", ["rest", number(0), "s"]],
  ]],
};
FORMS.change = ["", FORMS.ball[1].slice(0, -3)]; // when it is played stands in its block

const SHOWN = {
  cycle: "in turn (cycle)", mix: "as nobody foresees (mix)", ladder: "one ball, step by step after hits (ladder)",
  drive: "a drive: 1 m over the net", "high ball": "a high ball: 2 m over the net", lob: "a lob: 4 m over the net",
  "over the net": "so many metres over the net", falling: "so high at the player, falling", rising: "so high at the player, rising",
  "on the full": "volley: before it bounces", overhead: "overhead: before it bounces, over the head",
  "knee high": "where it has fallen knee high", "waist high": "where it has fallen waist high",
  "chest high": "where it has fallen chest high", "shoulder high": "where it has fallen shoulder high",
  metres: "by metres", "deep and wide": "deep: 0.5 to 3.5 m inside the baseline", deep: "deepest: 0.5 to 2.5 m inside the baseline", midcourt: "midcourt: around the service line",
  short: "short: 3 to 5.4 m from the net", "service box": "anywhere in the service box",
  "behind baseline": "behind the baseline", "inside baseline": "inside the baseline", "from net": "from the net",
  middle: "middle: 0.75 m to both sides of the centre",
  "in turn": "in turn with the balls of the last block", alone: "in a block of its own", "not yet": "not yet",
  min: "minutes", "goes on": "the point goes on", "from the start": "the point starts again",
  corner: "0.3 to 1.8 m inside the sideline", wing: "0.8 to 2.3 m from the centre",
};
const OTHERWISE = {
  step: { pace: "how fast it leaves, km/h", height: "its height over the net, m" },
  depth: { open: "where its height and pace take it" },
  toward: { "": "anywhere", middle: "to the middle" },
  part: { balls: "balls", rest: "a rest", collect: "a collect: time to pick up the balls" },
  goes: { anywhere: "anywhere in the court", middle: "to the middle" }, pause: { collect: "collect the balls" },
  stance_from: { falling: "high, where it has fallen so far", rising: "high, where it has risen so far" },
  level: { open: "as its pace makes it" },
  speed: { open: "as its height makes it", pace: "so fast as it leaves", time: "so long until it is met" },
};
const NONE = { aims: "nothing said: the ball alone counts", third: "no third ball" };
const UNKNOWN = "nothing yet: say it first with \u201cAdd what the player does\u201d";

export function said(blank, text, known) {
  if (blank === "toward" && text.includes(" ")) {
    const across = text.startsWith(known.forehand) ? "backhand" : "forehand"; // a ball across comes from the other side
    return `to the ${text}: across, from the ${across}`;
  }
  const [, part] = blank === "side" ? text.split(" ") : [];
  return OTHERWISE[blank]?.[text] || (part ? `${text}: ${SHOWN[part]}` : SHOWN[text] || text);
}

export const none = (blank, known) => (blank === "aims" && !known.aims.length ? UNKNOWN : NONE[blank]);

const BOUNCES = (form) => form.bounce === "after a bounce" || form.bounce === "", PLACED = (form) => ["behind baseline", "inside baseline", "from net", "falling", "rising"].includes(form.stance_from), PLAYS = (form) => form.part === "balls", CLIMBED = (form) => form.order === "ladder" && PLAYS(form), ALONE = (form) => form.played === "alone";
const STRAIGHT = (form) => !CLIMBED(form), METRES = (form) => BOUNCES(form) && form.depth === "metres", FLOWN = (form) => form.level !== "";
const BALL = {
  depth: BOUNCES, near: METRES, far: METRES, bounce: FLOWN, met: (form) => FLOWN(form) && !BOUNCES(form), stance: PLACED, goes: (form) => form.goal > 0, among: (form) => form.goal > 0, aims: (form) => !(form.goal > 0),
  rpm: (form) => form.turn === "topspin" || form.turn === "backspin", height: (form) => ["over the net", "falling", "rising"].includes(form.level),
  speed: FLOWN, pace: (form) => FLOWN(form) && form.speed === "pace", time: (form) => FLOWN(form) && form.speed === "time",
};
// Where a player usually stands to a ball that lands there (our own choice): what the form proposes until somebody says it.
export const STANDS = {
  metres: [0.5, "behind baseline"], "deep and wide": [1, "behind baseline"], deep: [1, "behind baseline"], midcourt: [1, "waist high"], short: [1, "waist high"],
  "service box": [1, "waist high"], open: [0.5, "behind baseline"], "on the full": [3, "from net"], overhead: [3, "from net"], lob: [6, "from net"],
};

// Which blanks matter, by what another one holds.
export const USED = {
  ball: { ...BALL, amount: ALONE, measure: ALONE, rest: ALONE, pause: ALONE }, change: BALL,
  block: { balls: (form) => form.order !== "" },
  part: {
    balls: PLAYS, order: PLAYS, before: PLAYS, pause: PLAYS, rounds: PLAYS,
    rest: (form) => PLAYS(form) && form.rounds > 1, amount: (form) => STRAIGHT(form), measure: (form) => STRAIGHT(form),
    most: CLIMBED, step: CLIMBED, first: CLIMBED, last: CLIMBED, rungs: CLIMBED, up: CLIMBED, up_in: CLIMBED, down: CLIMBED,
  },
};
