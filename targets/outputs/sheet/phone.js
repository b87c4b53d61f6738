"use strict";
(() => {
  const { balls, cards, ahead, plan, shots, points, games, until, goals, scores } = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const card = find("card"), part = find("part"), rungs = document.querySelector(".rungs");
  const marking = document.querySelector(".marks"), resulting = document.querySelector(".results"), keeping = document.querySelector(".kept");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const served = typeof begin === "function"; // with link.js the marks go to the program that serves the page
  const SWIPE = 40, TAP = 10, KEY = "sheet-" + plan, MOST_SENT = 32;
  let at = 0, down = null, lock = null, sure = false, sent = 0, told = null, came = Date.now();

  // ---- the practice, which outlives a reload: each mark, in order, as [ball, shot, verdict, second, whether an undo,
  // which other result than hit and miss].
  // A later mark of a ball counts in place of an earlier one. `rungs`: of a ladder's card, [rung, from which of its balls].

  const fresh = () => ({
    at: 0,
    id: Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join(""),
    marks: [], rungs: {},
  });
  let practice = null;
  const read = () => {
    let text = null;
    let kept = null;
    try {
      text = localStorage.getItem(KEY);
      kept = JSON.parse(text);
    } catch { /* no memory here but the page's own */ }
    if (text === null) kept = history.state && history.state[KEY];
    practice = kept && Array.isArray(kept.marks) ? kept : practice || fresh();
  };
  const keep = () => {
    practice.at = at;
    try { localStorage.setItem(KEY, JSON.stringify(practice)); } catch { /* then the history of the tab keeps it */ }
    place();
  };
  const place = () => {
    try {
      history.replaceState({ [KEY]: practice }, "", "#" + (at + 1));
    } catch { /* a browser may refuse so many in a short time; the next goes through */ }
  };

  const folded = (marks) => {
    const found = new Map();
    for (const [ball, shot, verdict, second, , result] of marks) {
      const first = found.get(ball);
      found.set(ball, { shot: first ? first.shot : shot, verdict, second: first ? first.second : second, result });
    }
    return found;
  };
  const mark = (ball, shot, verdict, undo, result) => {
    practice.marks.push([ball, shot, verdict, Math.round(Date.now() / 1000), undo ? 1 : 0, result]);
    keep();
    if (served) exchange();
  };
  const judge = (verdict, result) => {
    read(); // another page in this phone may have marked meanwhile
    const one = cards[at], done = folded(practice.marks);
    if (one.kind === "ladder") {
      const ball = one.ball + climbed(one, done).played;
      if (ball < one.ball + one.balls && !climbed(one, done).won) mark(ball, one.shots[ball - one.ball][climbed(one, done).rung], verdict);
      show();
    } else {
      const was = done.get(one.ball);
      // Where misses choose the balls, the log has to know of all of them which were fed.
      for (const before of points[one.block] ? cards.slice(0, at) : []) {
        if (before.block === one.block && !done.has(before.ball) && !leftOut(before, done)) mark(before.ball, shotOf(before, done), "not judged");
      }
      if (!was || was.verdict !== verdict || (was.result ?? undefined) !== result) mark(one.ball, shotOf(one, done), verdict, false, result);
      const now = folded(practice.marks);
      let to = at + 1;
      while (cards[to] && leftOut(cards[to], now)) to += 1;
      go(to);
    }
  };
  const last = () => { // the mark that undo takes back: those that it took back already come with one undo each
    let skip = 0;
    for (let n = practice.marks.length - 1; n >= 0; n -= 1) {
      if (practice.marks[n][4]) skip += 1;
      else if (practice.marks[n][2] !== "not judged" && skip) skip -= 1;
      else if (practice.marks[n][2] !== "not judged") return n;
    }
    return -1;
  };
  const undo = () => {
    read();
    const n = last();
    if (n < 0) return;
    const [ball, shot] = practice.marks[n], before = folded(practice.marks.slice(0, n)).get(ball);
    mark(ball, shot, before ? before.verdict : "not judged", true, before?.result);
    at = cards.findIndex((one) => one.ball <= ball && ball < one.ball + (one.balls ?? 1));
    keep();
    show();
  };

  // ---- what the marks lead to. LOG.md and the sheet say the rules; the log counts by the same.

  const judged = (one) => one && one.verdict !== "not judged";
  const climbed = (one, done) => { // where a ladder stands before the first of its balls that is not judged
    const set = practice.rungs[one.ball];
    let rung = one.rung, recent = [], sets = 0, played = 0, won = false; // the last judged balls on the rung, and the sets on it
    for (; played < one.balls; played += 1) {
      if (set && set[1] === played) [rung, recent, sets, won] = [set[0], [], 0, false];
      if (won) break; // of the last rung, which ends the ladder
      const ball = done.get(one.ball + played);
      if (!judged(ball)) break;
      if (one.shots[played].indexOf(ball.shot) !== rung) continue;
      const hit = ball.verdict === "hit";
      if (one.sets) { // the last ball of a set decides
        recent = [...recent, hit];
        if (recent.length < one.up_in) continue;
        const good = recent.filter(Boolean).length;
        sets += 1;
        const falls = Boolean((one.down && recent.length - good >= one.down) || (one.fewest && sets >= one.fewest)), was = rung;
        won = one.ends && good >= one.up && rung === one.rungs.length - 1;
        if (good >= one.up || (one.most && sets >= one.most && !(falls && rung))) rung = Math.min(rung + 1, one.rungs.length - 1);
        else if (falls) rung = Math.max(rung - 1, 0);
        if (rung !== was || (good >= one.up && one.fewest)) sets = 0;
        recent = [];
        continue;
      }
      recent = [...recent, hit].slice(-Math.max(one.up_in, one.within));
      const hits = recent.slice(-one.up_in).filter(Boolean).length;
      const misses = recent.slice(-one.within).filter((was) => !was).length;
      if (hit && hits >= one.up && rung + 1 < one.rungs.length) [rung, recent] = [rung + 1, []];
      else if (hit && hits >= one.up && one.ends) [won, recent] = [true, []];
      else if (one.down && !hit && misses >= one.down && rung > 0) [rung, recent] = [rung - 1, []];
    }
    return { rung, played, won, inSet: recent.length };
  };
  const course = (one, done) => { // of a block of points before this ball: what comes, and the score
    const block = points[one.block], begins = beginsAgain(block);
    let point = 0, step = 0, first = 0, marks = [];
    const results = [], begun = [], adds = []; // of each point that is over, true if it was won, null if it was not judged, and its first ball
    for (const before of cards) {
      if (before.block !== one.block) continue;
      const { shots: wanted, missed: then, needed } = block[point], ball = done.get(before.ball);
      if (before === one) break;
      if (ball && ball.shot !== wanted[step]) continue; // it was fed before the miss was marked, and belongs to no point
      first = step ? first : before.ball;
      step += 1;
      marks.push(ball ? ball.verdict : "not judged");
      const missed = marks.includes("miss"), over = begins && then !== "goes on" && missed;
      if (step < wanted.length && !over) continue;
      const won = marks.filter((mark) => mark === "hit").length >= needed;
      const lost = marks.filter((mark) => mark === "miss").length > wanted.length - needed;
      results.push(won || lost ? won : null);
      begun.push(first);
      adds.push(block[point].adds[Number(won)]);
      [point, step, marks] = [over && then === "from the start" ? point : (point + 1) % block.length, 0, []];
    }
    const [won, lost] = [true, false].map((of) => results.filter((result) => result === of).length);
    return { shot: block[point].shots[step], won, lost, results, begun, adds };
  };
  const beginsAgain = (block) => block.some(({ missed }) => missed === "from the start");
  const leftOut = (one, done) => { // a ball of a point that ended with a miss before it
    const block = one.kind === "ball" && points[one.block];
    if (!block || beginsAgain(block)) return false;
    const balls = cards.filter(({ block: of }) => of === one.block);
    let first = 0, point = 0, at = balls.indexOf(one);
    while (first + block[point].shots.length <= at) first += block[point++].shots.length;
    return block[point].missed === "next point" && balls.slice(first, at).some(({ ball }) => done.get(ball)?.verdict === "miss");
  };
  const shotOf = (one, done) => { // in a block whose points begin again, misses choose the ball
    const was = done.get(one.ball);
    return was ? was.shot : points[one.block] ? course(one, done).shot : one.shot;
  };
  const game = (one, done) => { // the score before a ball, the player's points first
    const to = one.kind === "ball" && games[one.block];
    if (!to) return "";
    const { won, lost } = course(one, done), over = Math.max(won, lost) >= to;
    return `, game to ${to}: ${won} to ${lost}${over ? ", over: go on with what comes next" : ""}`;
  };
  const goodBefore = (one, done, of) => { // whether each ball of its block before this one was a hit, null if it was not judged
    const before = cards.slice(0, cards.indexOf(one)).filter(({ block }) => block === one.block);
    const mine = before.filter((card) => of === null || shots[shotOf(card, done)].of === of);
    return mine.map(({ ball }) => done.get(ball)).map((was) => judged(was) ? was.verdict === "hit" : null);
  };
  const inSets = (results, { hits, among, good }) => { // the last ball of a set decides, and one that was not judged is one of it
    const counts = (from) => results.slice(from, from + among).filter((hit) => hit === good).length;
    const begins = Array.from({ length: Math.ceil(results.length / among) }, (_, n) => n * among);
    const last = begins.at(-1) ?? 0;
    const met = begins.some((from) => from + among <= results.length && counts(from) >= hits);
    return { met, far: results.length ? `${counts(last)} of ${results.length - last} in the set` : "0" };
  };
  const held = (one, done) => { // how far a block is that goes on until so many are good, or missed
    const holds = one.kind === "ball" && until[one.block];
    if (!holds) return "";
    const found = holds.map((hold) => {
      const { of, hits, among, good, said } = hold;
      const results = points[one.block] ? course(one, done).results : goodBefore(one, done, of);
      if (hold.sets) {
        const { met, far } = inSets(results, hold);
        return { met, text: `${said}: ${met ? "reached" : far}` };
      }
      let recent = [], met = false;
      for (const hit of results.filter((result) => result !== null)) {
        recent = hit === good || hits !== among ? [...recent, hit === good].slice(-among) : [];
        met = met || recent.filter(Boolean).length >= hits;
      }
      return { met, text: `${said}: ${met ? "reached" : recent.filter(Boolean).length}` };
    });
    const over = found.every(({ met }) => met);
    return `, ${found.map(({ text }) => text).join(", ")}${over ? ", over: go on with what comes next" : ""}`;
  };
  const ballsOf = (block, before) => cards.slice(0, before ? cards.indexOf(before) : cards.length)
    .filter((one) => one.block === block).flatMap((one) => Array.from({ length: one.balls ?? 1 }, (_, n) => one.ball + n));
  const score = (block, done, before, [who, theirs]) => { // of a block and those from which it goes on, before a card or at their end
    const rules = scores[block], { row, bonus, least, most, ends, start } = rules;
    let now = start, streak = 0, over = false;
    for (const each of rules.blocks) {
      const upTo = each === block ? before : undefined;
      const { results, adds, begun } = points[each] ? course(upTo ?? { block: each }, done) : { results: null };
      const moves = results ? results.map((won, n) => [won, adds[n], begun[n]]) : ballsOf(each, upTo).map((ball) => [ball, done.get(ball)])
        .map(([ball, was]) => judged(was) ? [was.verdict === "hit", scores[each].results[was.result]?.[1] ?? scores[each].worth[was.shot][Number(was.verdict === "hit")], ball] : [null, 0, ball]);
      for (const [hit, adds, ball] of moves) {
        if (hit === null || over || (theirs && !theirs.includes(ball))) continue;
        streak = hit && row ? streak + 1 : 0;
        const full = Boolean(row) && streak === row;
        now += adds + (full ? bonus : 0);
        now = Math.min(Math.max(now, least ?? -Infinity), most ?? Infinity);
        streak = full ? 0 : streak;
        over = ends.some((end) => end > start ? now >= end : now <= end);
      }
    }
    const until = ends.length === 1 && ends[0] > start ? ` of ${ends[0]}` : ends.length ? `, until ${ends.join(" or ")}` : "";
    return { now, over, said: `${who ? who + ": " : ""}score ${now}${until}${rules.goal === null ? "" : `, goal ${rules.goal} or more`}` };
  };
  const scored = (one, done) => {
    if (one.kind !== "ball" || !scores[one.block]) return "";
    const all = scores[one.block].takers.map((taker) => [taker, score(one.block, done, one, taker)]); // the first to an end ends it
    const [[, { said }]] = all.filter(([[, theirs]]) => !theirs || theirs.includes(one.ball)), over = all.some(([, { over }]) => over);
    return `, ${said}${over ? ", over: go on with what comes next" : ""}`;
  };
  const reached = ({ of, hits, among, all, blocks, said, balls: theirs }, done) => { // a goal that counts on from block to block
    const counts = (ball) => !theirs || theirs.includes(ball);
    const row = !all && hits === among;
    let recent = [], met = false;
    for (const block of blocks) {
      const fed = ballsOf(block).filter(counts).map((ball) => done.get(ball)).filter(judged);
      const { results: won, begun } = points[block] && of === null ? course({ block }, done) : {};
      const results = won ? won.filter((result, n) => result !== null && counts(begun[n])) :
        fed.filter(({ shot }) => of === null || shots[shot].of === of).map(({ verdict }) => verdict === "hit");
      for (const hit of results) {
        recent = hit || !row ? [...recent, hit].slice(all ? 0 : -among) : [];
        met = met || recent.filter(Boolean).length >= hits;
      }
    }
    return `goal ${said}${met ? " reached" : `: ${recent.filter(Boolean).length}`}`;
  };
  const partOf = (block) => cards.find((one) => one.block === block).part;
  const letterOf = (one, done) => one.kind === "ball" ? shots[shotOf(one, done)].letter : one.big;

  // Balls of other variations do not end a streak, and one that was not judged changes nothing.
  const tallies = (done) => {
    const found = new Map(), shared = new Map(); // of each player, and of all who play the block
    for (const one of cards) {
      for (let ball = one.ball; ball < one.ball + (one.balls ?? 1); ball += 1) {
        const was = done.get(ball);
        if (!judged(was)) continue;
        const { of, goal, who } = shots[was.shot], key = one.block + " " + of + " " + who;
        const hit = was.verdict === "hit", row = !goal || goal.hits === goal.among;
        const together = shared.get(one.block + " " + of) || { whose: new Set(), now: 0, best: 0, recent: [] };
        const sum = found.get(key) || { part: one.part, of, goal, who, hits: 0, misses: 0, now: 0, best: 0, recent: [], together };
        if (hit) sum.hits += 1;
        else sum.misses += 1;
        for (const each of [sum, together]) {
          each.recent = hit || !row ? [...each.recent, hit].slice(row ? 0 : -goal.among) : [];
          each.now = each.recent.filter(Boolean).length;
          each.best = Math.max(each.best, each.now);
        }
        together.whose.add(who);
        shared.set(one.block + " " + of, together);
        found.set(key, sum);
      }
    }
    return found;
  };
  const toGoal = ({ goal, together: { whose, now, best } }) => !goal ? "" : // players who take turns share it
    `, goal ${goal.said}${best >= goal.hits ? " reached" : whose.size > 1 ? `: ${now} together` : ""}`;
  const counted = (sum) => `${sum.who ? sum.who + ", " : ""}${sum.of ? sum.of + ": " : ""}${sum.hits} hit, ${sum.misses} missed; ${sum.now} ` +
    `${sum.goal && sum.goal.hits < sum.goal.among ? `of the last ${sum.goal.among}` : "in a row"}, best ` +
    `${sum.best}${toGoal(sum)}`;

  // ---- what is seen

  const lines = (texts) => {
    find("lines").replaceChildren(...texts.map((text) => {
      const item = document.createElement("li");
      item.textContent = text;
      return item;
    }));
  };
  const show = () => {
    const one = cards[at], done = folded(practice.marks), ladder = one.kind === "ladder" ? climbed(one, done) : null;
    const rung = ladder ? one.rungs[ladder.rung] : null;
    const fed = rung ? one.shots[Math.min(ladder.played, one.balls - 1)][ladder.rung] : one.kind === "ball" ? shotOf(one, done) : -1;
    const letter = rung ? shots[fed].letter : letterOf(one, done);
    const sums = tallies(done), was = done.get(one.ball);
    const next = one.kind === "rest" && cards[at + 1].kind === "ball" ? cards[at + 1] : one; // after a rest inside a block
    card.className = one.kind;
    find("where").textContent = one.where + (rung ? `, ball ${Math.min(ladder.played + 1, one.balls)} of ${one.balls}: ${rung[1]}` : "") +
      (ladder?.won ? ", won: go on with what comes next" : rung && one.sets ? `, ${ladder.inSet + 1} of ${one.up_in} in the set` : "") +
      (one.kind === "ball" && judged(was) ? `, marked: ${was.verdict}` : "") + game(next, done) + held(next, done) + scored(next, done);
    find("big").textContent = letter;
    const summed = one.kind !== "end" ? [] : [
      ...[...sums.values()].map((sum) => `Block ${sum.part}, ${counted(sum)}`),
      ...Object.keys(scores).map(Number).filter((block) => !Object.values(scores).some(({ blocks }) => blocks.at(-1) !== block && blocks.includes(block)))
        .flatMap((block) => scores[block].takers.map((taker) => `Block ${partOf(block)}: ${score(block, done, undefined, taker).said}`)),
      ...goals.map((goal) => `${[...(goal.whole ? ["The whole session"] : goal.all && goal.of ? [] : [`Block ${partOf(goal.blocks[0])}`]), ...(goal.of ? [goal.of] : [])].join(", ")}: ${reached(goal, done)}`),
    ];
    const advised = one.kind === "end" && told ? told.advice : [];
    lines([...one.lines, ...summed, ...advised, ...(rung || one.kind === "ball" ? balls[letter] ?? [] : [])]);
    const coming = cards.slice(at + 1, at + 1 + ahead);
    find("then").textContent = one.kind === "ball" && coming.length ?
      "then " + coming.map((next) => letterOf(next, done)).join(", ") :
      rung && ladder.played && ladder.played < one.balls && !ladder.inSet && !ladder.won ? one.rest : "";
    rest();
    rungs.hidden = !rung;
    if (rung) {
      find("easier").disabled = ladder.rung === 0;
      find("harder").disabled = ladder.rung === one.rungs.length - 1;
    }
    marking.hidden = !one.ball && !practice.marks.length;
    const named = one.kind === "ball" && scores[one.block] ? scores[one.block].results : [];
    resulting.hidden = !named.length;
    find("hit").hidden = find("miss").hidden = named.length > 0;
    resulting.replaceChildren(...named.map(([words, adds], n) => {
      const button = document.createElement("button"), hit = adds === null ? words === "a hit" : adds > 0;
      button.type = "button";
      button.textContent = words;
      button.addEventListener("click", () => judge(hit ? "hit" : "miss", n));
      return button;
    }));
    find("hit").disabled = find("miss").disabled = !one.ball || Boolean(ladder && (ladder.won || ladder.played === one.balls));
    const sum = fed < 0 ? null : sums.get(one.block + " " + shots[fed].of + " " + shots[fed].who);
    const mine = goals.filter(({ of, blocks, balls: theirs }) => blocks.includes(one.block) &&
      (of === null || (fed >= 0 && shots[fed].of === of)) && (!theirs || theirs.includes(one.ball + (ladder ? ladder.played : 0))));
    find("counts").textContent = [...(sum ? [counted(sum)] : []), ...mine.map((goal) => reached(goal, done))].join("; ");
    find("back").disabled = at === 0;
    find("next").disabled = at === cards.length - 1;
    find("next").textContent = one.kind === "start" ? "Read: go on" : "Next";
    part.value = one.kind === "end" ? "end" : String(one.part ?? 0);
    keeping.hidden = !practice.marks.length && !Object.keys(practice.rungs).length;
    find("undo").disabled = last() < 0;
    find("save").hidden = served || !practice.marks.length;
    find("anew").textContent = !sure ? "New practice" :
      served && sent < practice.marks.length ? "Sure? Not all marks are in the log" : "Sure? The page forgets these marks";
    linked();
    if (practice.marks.length) keep();
    else place();
  };
  // What is left of a rest or a collect since its card came.
  const rest = () => {
    const { seconds } = cards[at];
    if (!seconds) return;
    const left = Math.ceil(seconds - (Date.now() - came) / 1000);
    find("then").textContent = left > 0 ? `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")} left` : "over";
  };
  const go = (number) => {
    const to = Math.min(cards.length - 1, Math.max(0, number));
    sure = false;
    if (to === at) return show();
    at = to;
    came = Date.now();
    show();
    if (!still.matches) card.animate([{ opacity: .2 }, { opacity: 1 }], 150);
    stayOn();
  };
  const climb = (by) => {
    read();
    const one = cards[at], { rung, played } = climbed(one, folded(practice.marks));
    practice.rungs[one.ball] = [Math.min(one.rungs.length - 1, Math.max(0, rung + by)), played];
    keep();
    show();
  };
  // The screen of a phone goes dark between two balls unless the page asks; not every browser lets it.
  const stayOn = async () => {
    if (lock || !navigator.wakeLock || document.visibilityState !== "visible") return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch { lock = null; }
  };

  // ---- where the marks go

  const linked = () => {
    const wait = practice.marks.length - sent;
    const held = told && told.trouble ? told.trouble[0].toUpperCase() + told.trouble.slice(1) + ". " : "";
    find("link").textContent = !practice.marks.length ? "" : !served ? "The marks are in this phone until you save them." :
      wait <= 0 ? "All marks are in the log." : `${held}${wait} of ${practice.marks.length} marks wait in this phone.`;
  };
  const save = () => {
    const done = folded(practice.marks), block = new Map();
    for (const one of cards) for (let n = 0; one.ball && n < (one.balls ?? 1); n += 1) block.set(one.ball + n, one.block);
    const cell = (text) => `"${String(text).replaceAll('"', '""')}"`;
    const rows = [...done].sort(([one], [other]) => one - other).map(([ball, { shot, verdict, second }]) =>
      [block.get(ball), shots[shot].id, verdict, new Date(second * 1000).toISOString()].map(cell).join(","));
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([["plan block,shot,verdict,at", ...rows, ""].join("\r\n")], { type: "text/csv" }));
    link.download = `marks-${new Date().toISOString().slice(0, 10)}.csv`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  };
  const anew = () => {
    if (!sure) {
      sure = true;
      return show();
    }
    practice = fresh();
    sent = 0;
    told = null;
    keep();
    go(0);
  };

  // ---- what is touched

  card.addEventListener("pointerdown", (event) => { down = event.isPrimary ? [event.clientX, event.clientY] : null; });
  card.addEventListener("pointercancel", () => { down = null; });
  card.addEventListener("pointerup", (event) => {
    if (!down || event.button > 0) return;
    const across = event.clientX - down[0], along = event.clientY - down[1];
    down = null;
    if (Math.abs(across) > SWIPE && Math.abs(across) > Math.abs(along)) go(at + (across < 0 ? 1 : -1));
    else if (Math.abs(across) < TAP && Math.abs(along) < TAP) go(at + 1);
  });
  const buttons = {
    next: () => go(at + 1), back: () => go(at - 1), harder: () => climb(1), easier: () => climb(-1),
    hit: () => judge("hit"), miss: () => judge("miss"), undo, save, anew,
  };
  for (const [name, does] of Object.entries(buttons)) find(name).addEventListener("click", does);
  part.addEventListener("change", () => go(part.value === "end" ? cards.length - 1 :
    part.value === "0" ? 0 : cards.findIndex((one) => one.part === Number(part.value))));
  document.addEventListener("keydown", (event) => {
    if (find("play").hidden || event.ctrlKey || event.altKey || event.metaKey || event.target.closest("select, input")) return;
    const onward = ["ArrowRight", "PageDown"].includes(event.key) || (event.key === " " && !event.target.closest("button"));
    if (!onward && !["ArrowLeft", "PageUp"].includes(event.key)) return;
    event.preventDefault();
    go(at + (onward ? 1 : -1));
  });
  document.addEventListener("visibilitychange", () => { if (at) stayOn(); });
  window.addEventListener("storage", (event) => {
    if (event.key !== KEY) return;
    read();
    show();
  });

  setInterval(rest, 500);
  read();
  at = /^#\d{1,6}$/.test(location.hash) ? Number(location.hash.slice(1)) - 1 : practice.marks.length ? practice.at : 0;
  at = Math.min(cards.length - 1, Math.max(0, at));
  if (!served) {
    find("play").hidden = false;
    show();
    return;
  }
  begin({
    says: () => ({
      practice: practice.id,
      marks: practice.marks.slice(sent, sent + MOST_SENT).map(([ball, shot, verdict, second], n) =>
        ({ number: sent + n + 1, ball, shot, verdict, at: second })),
    }),
    hears: (answer) => {
      if (answer.phone.practice !== practice.id) return; // of the practice before
      const before = JSON.stringify(told);
      told = answer.phone;
      sent = told.done;
      if (JSON.stringify(told) !== before) show();
      if (sent < practice.marks.length && !told.trouble) setTimeout(exchange, 60);
    },
    afresh: () => { sent = 0; },
    enters: () => {
      find("play").hidden = false;
      show();
    },
    leaves: () => { find("play").hidden = true; },
  });
})();
