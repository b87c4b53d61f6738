"""From hello over stop proof and drill to an armed machine; nothing here can launch."""

from ..stream import rules
from ..stream.wire import Frame
from . import words
from .flow import DRILL_S, STOP_FOR_S, WARM_S, Flow, Halt, Phase
from .places import Place, arming


class Opening(Flow):
    # ---- hello, stop proof, drill

    def _on_hi(self, now: float, hi: Frame | None) -> None:
        if hi is None:
            return self.stop(now, "Nothing answered that speaks the protocol", 3)
        if hi.word != "hi":
            return self.stop(now, f"The machine refuses to talk: {words.why(hi.values.get('why', ''))}", 3)
        wanted = {"v": str(rules.VERSION), "id": self._identity.id, "cap": str(self._identity.cap),
                  "gap": str(self._identity.gap), "fit": self._identity.fit}  # fmt: skip
        odd = [f"{key} {hi.values.get(key, 'missing')} instead of {value}" for key, value in wanted.items()
               if hi.values.get(key) != value]  # fmt: skip
        if odd:
            return self.stop(now, f"This is not the machine the program was compiled for: {', '.join(odd)}", 3)
        last, lrun = hi.natural("last"), hi.values.get("lrun")
        if lrun == self.run.word and last is not None and last >= self.run.places[self.next].number:
            return self.stop(now, f"The machine has thrown ball {last} of this run; the record here is older", 3)
        if hi.values.get("lfp") == self._fp and lrun != self.run.word:
            self.say(f"The machine last threw ball {last} of this program, in another run.")
        self.talk.tick(True, now)
        self._enter(now, Phase.PROVING)
        self._stop_at, self._until = now, now + STOP_FOR_S
        self._send_stop(now)

    def _proven(self, now: float, answer: Frame | None) -> None:
        if answer is None or answer.word != "ok":
            why = words.why(answer.values.get("why", "")) if answer else "no answer"
            return self.stop(now, f"The machine does not clear its stop: {why}", 3)
        self.say("Stop is proven: the machine heard it and said so.")
        # Now the other promise: a quiet host's machine takes nothing. It is asked to arm by a host that went quiet.
        self._enter(now, Phase.DRILL)
        self.talk.tick(False, now)
        self._until = now + DRILL_S

    def _drilled(self, now: float, answer: Frame | None) -> None:
        if answer is None or answer.values.get("why") != "not-fresh":
            found = "it took an order" if answer and answer.word == "ok" else "no clear answer"
            return self.stop(now, f"The machine did not hold itself when the link was quiet: {found}", 3)
        self.quiet_shown = True
        self.say("The drill is done: the machine takes nothing from a host that went quiet.")
        # Back in touch before a person may arm: a word that is fresh takes two ticks.
        self.talk.tick(True, now)
        self._until = now + WARM_S

    def _ready(self, now: float, why: str) -> None:
        self.talk.tick(True, now)
        self._held = self._wish = ""
        self._aimed = False
        while self.next >= len(self.run.places):
            following = next(self._runs, None)
            if following is None:
                return self.stop(now, words.LEFT if why == words.SKIPPED else words.PLAYED, 0)
            self.run, self.next, self._begun = following, 0, False
        self._enter(now, Phase.READY)
        self.why, self.halt = why, Halt.of(why, self.halt)

    # ---- arming

    def armed_places(self) -> tuple[Place, ...]:
        """What the next arming covers."""
        return arming(self.run.places[self.next :])

    def _arm_words(self) -> dict[str, object]:
        covered = self.armed_places()
        return {"fp": self._fp, "run": self.run.word, "from": covered[0].number, "of": covered[-1].number}

    def _arm(self, now: float) -> None:
        if not self._unchanged():
            return self.stop(now, "The program's file was changed since it was checked; start anew", 2)
        if not self._begun:
            facts = {"run": self.run.word, "fp": self._fp, "title": self.run.title, "device": self._identity.id,
                     "first": self.run.places[0].number, "last": self.run.places[-1].number, "stop_proven": True,
                     "quiet_shown": self.quiet_shown}  # fmt: skip
            if not self._kept(now, lambda: self.run.record.begin(facts)):
                return
            self._begun = True
        self._enter(now, Phase.ASKING)
        self.talk.ask(now, "arm", self._arm_words(), self._on_question)

    def _on_question(self, now: float, answer: Frame | None) -> None:
        refused = answer.values.get("why") if answer else None
        if refused == "not-fresh":
            return self._ready(now, "the link was quiet just now; arm once more")
        if answer is None or answer.word != "ok" or answer.values.get("fp") != self._fp:
            return self.stop(now, f"The machine does not arm: {words.why(refused or 'no clear answer')}", 3)
        self.question = answer.values.get("c", "")
        self.told = True
        self._enter(now, Phase.ANSWERING)
        self._until = now + rules.ANSWER_MS[1] / 1000 - 0.2

    def _answer(self, now: float, text: str) -> None:
        if len(text) != 4 or not set(text) <= set(rules.EYE_SIGNS):
            return self._ready(now, "that was no answer; nothing is armed")
        self.talk.ask(now, "yes", {"c": text, "w": self._warning}, self._on_yes)

    def _on_yes(self, now: float, answer: Frame | None) -> None:
        not_before = answer.natural("not-before") if answer else None
        if answer is None:
            return self.stop(now, "The machine did not answer whether it is armed", 3)
        if answer.word != "ok" or not_before is None:
            return self._ready(now, f"{words.why(answer.values.get('why', ''))}; nothing is armed")
        covered = self.armed_places()
        self._first, self.last = covered[0], self.next + len(covered)
        self.not_before = not_before
        self._aimed = False
        self.talk.state = "live"
        self._enter(now, Phase.LIVE)
