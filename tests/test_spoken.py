"""What coaches say is answered with what a script writes, and what is answered is a sentence of the language."""

import re
from itertools import groupby

from feedwright.grammar.mistakes import spoken
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.grammar.spoken import Saying, answer, said, sayings

from .shipped import PROGRAMS

# Words of the trade: common practice, no source. Each with a part of its answer.
SAID = """
height belt high, falling               | height waist, falling
height chest high, falling              | height chest, falling
side body                               | side 0.5 m right of centre
side wide to the forehand               | side forehand corner
spin slice                              | backspin
spin kick                               | topspin heavy
pace lob                                | height 4 m over net
a high lob                              | height 4 m over net
height lob, on the full                 | height 2.5 m, on the full; height 4 m over net
smash on service line                   | height 2.5 m, on the full; height 4 m over net
depth drop shot                         | depth 1 to 4 m from net; height 0.5 m over net
depth 1 to 4 m in front of baseline     | depth 1 to 4 m inside baseline
12 balls warm in order, each ball three times | 12 balls warm in order, three of each
up 6 of 8 balls                         | up 6 of 8
up 60 %                                 | up 6 of 10
harder 6 out of 10                      | harder 6 of 10
up 6 of each 8                          | up 6 of every 8
harder 6 hits out of every set of 8     | harder 6 of every 8
down 5 misses of each 8                 | down 5 misses in every 8
goal 10 of 16 per player                | goal 10 of 16 each
goal everyone 4 in a row                | goal 4 in a row each
goal 30 of 40 in all per player         | goal 30 of 40 in all each
down fewer than 3 of every 8            | down 6 misses in every 8
easier if under 5 of 10                 | easier 6 misses in 10
interval 20 s after the point           | interval 20 s after a rally of 8 s
interval 8 s between rallies            | interval 8 s after a rally of 8 s
down 2 bad sets                         | down after 2 sets on a rung
stop when step four is won              | until the last rung is won
until the top level is reached          | until the last rung is won
at most 2 goes on the same rung          | at most 2 sets on a rung
then up anyway after 2 goes             | at most 2 sets on a rung
12 balls fore, until each has 3 of 5    | goal 3 of 5 each
until 4 in a row each                   | goal 4 in a row each
12 balls fore, goal 3 of 5 each         | 12 balls fore; goal 3 of 5 each
won at 4 of 5                           | won with 4 of 5
point is won if 3 out of 4              | won with 3 of 4
needs 4 of its 5                        | won with 4 of 5
won with 4                              | won with 4 of 5
goal 8 points each                      | goal 8 in all each
12 balls warm, 3 times each              | 12 balls warm, 3 of each
first to 11, win by two                 | first to 11
an underarm toss                        | height 2 m at the top
height slow toss                        | height 2 m at the top
height easy volley                      | height shoulder, on the full; height 1 m over net
touches the net before the next ball    | note "Touch the net first."
starts at the net                       | starts on centre, 1 m from net
feeder person racket, on baseline, serving | feeder person server, on baseline
feeder machine academy, on centre, up to 165 km/h | feeder machine faster, on centre
reply deep to left or right corner      | reply deep, to left corner or right corner
reply cross or line                     | reply crosscourt or down the line
player takes it with the backhand       | stroke backhand
stroke run-around forehand              | stroke forehand
hit with the forehand                   | stroke forehand
taken on the backhand                   | stroke backhand
forehand only                           | stroke forehand
run round the backhand                  | stroke forehand
runs around it and hits a forehand      | stroke forehand
stroke inside-out                       | stroke forehand
stroke forehand volley                  | stroke forehand; height shoulder, on the full
reply deep, with the forehand           | reply deep; stroke forehand
stance at the edge of his reach          | starts on centre; way at least 3 m
he should just reach it                 | way at least 3 m
run no more than 2 m                    | way at most 2 m
distance to the ball 1 to 2.5 m         | way at least 1 m; way at most 2.5 m
limit run at most 1 m                   | limit way at most 1 m
feeder machine academy, on baseline, lifted to 2.7 m | feeder machine academy, on baseline, raised to 2.7 m
feeder machine club, 2.7 m high, on centre | feeder machine club, raised to 2.7 m
release height 2 m                      | raised to 2 m
height at least 3.2 m over his head     | height at least 3.2 m over net
height no less than 3.2 m above the net player | height at least 3.2 m over net
height 6 m at its highest point, on the full | height 6 m at the top, on the full
height 6 m at the peak                  | height 6 m at the top
height peak 6 m                         | height 6 m at the top
height at most 3 m at its apex          | height at most 3 m at the top
peak 6 m                                | height 6 m at the top
6 m high at its highest point           | height 6 m at the top
apex of 6 m                             | height 6 m at the top
rises to 6 m                            | height 6 m at the top
limit no ball higher than 3 m           | limit height at most 3 m at the top
limit peak 3 m                          | limit height at most 3 m at the top
interval every 5 s                      | interval 5 s
interval every 4.5 seconds              | interval 4.5 s
every 7 s                               | interval 7 s
rate 12 per minute                      | interval 5 s
height moonball                         | spin topspin medium
player lefty, 1.75 m tall               | player left-handed
player right-handed, 5 ft 9 in tall     | player right-handed, 5.75 ft tall
player right-handed, 4 players taking turns every 2 balls | 4 taking turns, changing every 2 balls
goal 5 out of 10                        | goal 5 of 10
goal at least 7 of 10                   | goal 7 of 10
goal 70 %                               | goal 7 of 10
goal 80 percent of 20                   | goal 16 of 20
goal the pair gets 30 of 40             | goal 30 of 40
goal 10 of 16 apiece                    | goal 10 of 16 each
reply deep, across                      | reply deep, crosscourt
reply past service line down the line   | reply past service line, down the line
reply deep, to left or right corner      | reply deep, to left corner or right corner
reply short left or short right         | reply short, to left wing or right wing
reply in court, to either corner        | reply in court, to left corner or right corner
reply deep to one of the two corners     | reply deep, to left corner or right corner
reply deep, inside-out                  | reply deep, crosscourt
reply deep, slice                       | backspin 800 rpm
2 min mix rally 70 %, high 30 %         | 2 min mix 70 % rally, 30 % high
50% rally, 25% high, 25% low            | 2 min mix 50 % rally, 25 % high, 25 % low
50% rally, 25% high                     | 2 min mix 2 rally, 1 high
2 min rally then high                   | 2 min cycle rally, high
20 balls high ball                      | 20 balls high-ball
repeat 3 times                          | 3 rounds
5 out of 10 rally                       | 24 balls steady, until 5 of 10
players taking turns every 8 balls      | 2 taking turns, changing every 8 balls
feed high slow ball, like rally         | feed high-slow-ball, like rally
variation deep ball "across"            | variation deep-ball "across"
zone left pocket                        | zone left-pocket
water break 2 min                       | rest 2 min
1 minute rest between the rounds        | rest 1 min between rounds
pause of 45 s between sets              | rest 45 s between rounds
rest for 30 seconds between each set    | rest 30 s between rounds
collect the balls between sets          | collect 2 min between rounds
until 4 in a row                        | 12 balls steady, until 4 in a row
24 balls steady, till 4 in a row        | 24 balls steady, until 4 in a row
30 balls fore, 4 lives                  | 30 balls fore, until score 0; score from 4, hit 0, miss -1
30 balls mix fore, back, until all lives are gone | until score 0; score from 5, hit 0, miss -1
worth slice 1, drive 2 and fore 3       | score slice 1, drive 2 and fore 3
slice 1 point, drive 2 points           | score slice 1, drive 2
a lob counts 3                          | score lob 3
lob is worth double                     | score lob 2
every error costs 2 points              | score miss -2
lose 1 point for each miss              | score miss -1
hit 1, miss -1                          | score hit 1, miss -1
bonus 2 after 4 in a row                | score 4 in a row +2
4 in a row earn a life                  | score 4 in a row +1
24 balls fore, first to 10              | 24 balls fore, until score 10; score hit 1
36 balls fore, until score reaches 20   | 36 balls fore, until score 20
goal a score of 12                      | goal score 12
score begins with 5                     | score from 5
score not below 0                       | score at least 0
48 balls steady, until 12 of every 16 balls | 48 balls steady, until 12 of every 16
24 points attack, until 6 won of every 8 | 24 points attack, until 6 of every 8
16 balls steady, until 12 of 16, at most 3 times | until 12 of every 16
4 sets of 10 balls steady, until 7 are good | until 7 of every 10
4 min cycle low, high until 8 hits out of 10 | 4 min cycle low, high, until 8 of 10
24 balls steady, until it holds         | 24 balls steady, until the goal
air 16 C, wind 5 m/s from ahead and 2 m/s from left | air wind 5 m/s from ahead, wind 2 m/s from left
air 16 C, wind 5 m/s in the face        | air wind 5 m/s from ahead
wind 5 m/s from ahead and 2 m/s from left | air wind 5 m/s from ahead, wind 2 m/s from left
player anna, right-handed, 1.66 m tall  | player called anna, right-handed, 1.66 m tall
player called "ben", left-handed        | player called ben, left-handed
rotate every 4 balls                    | rotation changing every 4 balls
swap players every 6 balls              | rotation changing every 6 balls
move the machine 1 m left               | feeder 1 m left of centre
feeder stands 3 m from net              | feeder 3 m from net
feeder at the net post                  | feeder 1 m from net
feeder by the net                       | from net
coach moves to the service line         | feeder on service line
plays approach and volley               | plays approach, then volley
if missed, start again                  | if missed, from the start
on a miss start over                    | if missed, from the start
serve, then 1.5 s                       | player serves, then 1.5 s
starts with a serve                     | player serves, then 1.5 s
refill when empty                       | collect when empty
collect the balls whenever the machine is empty | collect when empty
pick up balls                           | collect 2 min
anna: 20 balls steady                   | 20 balls steady for anna
20 balls steady with anna               | 20 balls steady for anna
8 attack points                         | 8 points attack
game to 11                              | first to 11
first to 11, two clear                  | first to 11
3 min mix 2 right for bo and 3 left for ada | 3 min mix 2 right for bo, 3 left for ada
14 balls wide every 3.75 s              | 14 balls wide; interval 3.75 s
interval 4 s, 3.75 s and 3.5 s          | 8 balls wide; interval 3.75 s
player left-handed, intermediate, 1.70 m tall | player right-handed, scatter improver
level advanced                          | scatter tournament
waits in the middle of the court        | starts on centre
recovers to the centre mark             | starts on centre, on baseline
plays opener, then short-one or last-one | plays opener, then short-one; plays opener, then last-one
10 balls alternate fore, back           | 10 balls cycle fore, back
session "Half", lasts 9:36              | session "Half", lasts 576 s
depth 0 to 5.4 m inside baseline, random | depth 0 to 5.4 m inside baseline, in 5 steps
height half-volley                      | stance where it is 0.3 m above ground, rising; height 1 m over net
pace slow                               | pace 70 km/h
20 balls mix fore, back, never three of the same side in a row | 20 balls mix fore, back, at most 2 to one side in a row
20 balls mix fore, back, not more than two of one side | 20 balls mix fore, back, at most 2 to one side in a row
120 balls fore, until 20 in a row, rest 1 min every 40 balls | rest 1 min after every 40 balls
12 points attack, rest 30 s every 4 points | 12 points attack; rest 30 s after every 4 points
point wide aims go                      | point wide; feed steady aims go
pace about 30 km/h                      | pace 30 km/h
stance roughly 1 m behind baseline      | stance 1 m behind baseline
20 balls mix fore, back, never three alike in a row | 20 balls mix fore, back, at most 2 alike
20 balls rally, until 5 in a row and rest 30 s | 20 balls rally, until 5 in a row; rest 30 s
rest 1 min, players collect             | collect 1 min
collect in the rests                    | collect 1 min
collect every 60 balls                  | hopper 60 balls; collect when empty
90 balls fore with 30 s rest every 30 balls | 90 balls fore; rest 30 s after every 30 balls
3 x 10 balls fore                       | 3 rounds; 10 balls fore
20 balls fore, rest 1 min, 30 balls back | 20 balls fore; rest 1 min; 30 balls back
12 balls fore for ann, then back for bob | 12 balls cycle fore for ann, back for bob
20 balls fore for each player           | 20 balls fore for anna; 20 balls fore for ben
changing every 2 balls                  | rotation changing every 2 balls
session "More", lasts 30 min at most    | session "More", lasts at most 30 min
session "More", lasts 20 to 30 min      | session "More", lasts at most 30 min
session of 30 min                       | session "Practice", lasts 30 min
20 balls fore, then 20 balls back        | 20 balls fore; 20 balls back
3 rounds of 8 balls fore, rest 30 s     | 3 rounds; 8 balls fore; rest 30 s
20 balls fore until 5 hits in a row     | 20 balls fore, until 5 in a row
20 points attack, first to 7            | 20 points attack; first to 7
lasts at most 30 min                    | session "Practice", lasts at most 30 min
20 balls mix fore, back, never three alike | 20 balls mix fore, back, at most 2 alike
20 balls mix a, b, never three forehands in a row | 20 balls mix a, b, at most 2 to one side in a row
20 balls mix a, b, at most 2 per side   | 20 balls mix a, b, at most 2 to one side in a row
changeover 4 s                          | rotation changeover 4 s
for ann 20 balls fore                   | 20 balls fore for ann
rest 1 min, say the score               | rest 1 min; note "say the score"
20 balls fore, one every 4 s            | 20 balls fore; interval 4 s
5 min talk                              | rest 5 min; note "talk"
rotate every ball                       | rotation changing every ball
player right-handed, 5 taking turns, every ball | 5 taking turns, changing every ball
12 serves wide                          | 12 serves every 15 s; note "12 serves wide"
limit no ball above the head            | limit nothing above head
limit never lower than the knee         | limit nothing below knee
20 balls fore, till 3 misses in a row   | 20 balls fore, until 3 misses in a row
20 balls cycle fore, back, stop after 2 misses | 20 balls cycle fore, back, until 2 misses in 20
20 balls fore, until 3 misses out of 5  | 20 balls fore, until 3 misses in 5
2 min fore, until 3 misses              | 2 min fore, until 3 misses in a row
until 3 misses in a row                 | 12 balls steady, until 3 misses in a row
ladder fore, up to 30 balls, pace 80, 85 km/h, until 3 misses in a row | down 3 misses in 3
rest 1 min after 25 balls               | rest 1 min after every 25 balls
rest 40 s every 20 balls                | rest 40 s after every 20 balls
rest 40 s after each 4 points           | rest 40 s after every 4 points
rest 1 min after the first 25 balls     | 25 balls steady; rest 1 min; 25 balls steady
carpet                                  | surface pace medium-fast
surface indoor carpet                   | surface pace medium-fast; ceiling 8 m
indoor                                  | ceiling 8 m
surface clay, indoor                    | surface clay; ceiling 8 m
court doubles, indoor                   | court doubles; ceiling 8 m
session "July", air 33 C                | given warmth 33 C; air given warmth
"""


def advised(line: str) -> str:
    """What a message says of a line that stands alone, whatever it would stand under."""
    return " ".join(words for one in parse(Source("t.feed", line))[1] for words in one.advice) or answer(line) or ""


def test_what_coaches_say_is_answered_with_what_to_write() -> None:
    asked = [[part.strip() for part in line.split("|")] for line in SAID.strip().splitlines()]
    assert [(line, advised(line)) for line, written in asked if written not in advised(line)] == []


def faults(one: Saying) -> list[str]:
    """What is wrong with the answer to its example."""
    told = answer(one.example)
    if said(one.example) is not one or not told:
        return [f"{one.example}: an earlier pattern fits this example, or none"]
    sentences = told.partition(": ")[2].split("; ")
    slips = ((sentence, parse(Source("t.feed", sentence))[1]) for sentence in sentences)
    return [f"{one.example}: {sentence}" for sentence, found in slips if {slip.code for slip in found} - {"misplaced"}]


def test_each_answer_is_made_of_sentences_of_the_language() -> None:
    assert len(sayings()) > 200
    assert [fault for one in sayings() for fault in faults(one)] == []


def test_an_answer_can_be_copied_though_the_line_has_another_slip() -> None:
    tails = (", until 5 in a row", " for anna", ", then rest 30 s", " and high", " every 5 s", ", about 80 km/h")
    told = {answer(one.example + tail) for one in sayings() for tail in tails} - {None}
    sentences = {sentence for words in told for sentence in words.partition(": ")[2].split("; ")}
    assert [one for one in sentences if {s.code for s in parse(Source("t.feed", one))[1]} - {"misplaced"}] == []


def test_no_pattern_fits_what_is_already_a_sentence() -> None:
    """Else a slip in one word of a long sound line would get the answer to another question."""
    lines = {line.split("#")[0].strip() for path in PROGRAMS for line in path.read_text("utf-8").splitlines()} - {""}
    fit = {line: one.example for line in sorted(lines) if (one := said(line))}
    assert fit == {}


def test_a_slip_of_the_pen_is_answered_with_the_word_itself() -> None:
    assert spoken("side left corner, T", ["T"], "T") is None
    assert spoken("height chst", ["chest"], "chst") is None


def test_a_name_in_two_words_is_answered_wherever_it_stands() -> None:
    lines = ("feed high ball", 'variation high ball "x"', "zone high ball", "20 balls high ball", "given high ball 9 s")
    for _, told in groupby(advised(line) for line in lines):
        assert re.search(r"\bhigh-ball\b", next(told))
