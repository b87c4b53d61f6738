"""Points that are won with some of their balls."""

from ...grammar.facts import Seconds
from ...grammar.finding import Message


class WonOfOther(Message):
    name: str
    among: int
    balls: int
    says = "the point {name} is won with so many of {among} balls, and plays {balls}"
    title = "A point won with some of another number of balls"
    why = "The second number is how many balls the line plays has, the first how many of them have to be hits."
    example = "point rally\n    plays steady, then steady, then quick\n    won with 4 of 5"
    instead = "point rally\n    plays steady, then steady, then quick\n    won with 2 of 3"
    otherwise = "play as many balls, or ask for fewer hits"


class WonAndMissed(Message):
    name: str
    says = "a miss ends the point {name}, which may be won all the same"
    title = "A point that a miss ends, and that is won with some of its balls"
    why = (
        "With if missed the first miss ends the point and loses it. A point that is won with four of five balls goes "
        "on after a miss, and all its balls come. Leave one of the two lines out."
    )
    example = "point rally\n    plays steady, then quick\n    won with 1 of 2\n    if missed, next point"
    instead = "point rally\n    plays steady, then quick\n    won with 1 of 2"


class ServesTooSoon(Message):
    every: Seconds
    least: Seconds
    says = "a serve every {every:.1 s} leaves no time for its balls; possible: {least:.1 s} or more"
    title = "Serves that come before their balls are played"
    why = (
        "From one serve to the next pass the time to the first ball, the intervals of the balls after it, and the time "
        "until the player serves again."
    )
    example = "point serve-and-two\n    player serves every 3 s, then 2 s\n    plays low, then high"
    instead = "point serve-and-two\n    player serves every 20 s, then 2 s\n    plays low, then high"
