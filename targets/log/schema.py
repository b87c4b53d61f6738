"""The tables of the log's file, version by version; SQLite's `user_version` gives the version of a file.

A practice is one run of one plan. A goal is counted over a lane: the balls of one variation in one block of a plan,
or of a ladder. A ball's `place` is how many of its block's balls come before it, NULL where that was not kept. A row
of `points` counts the points of one name in a block that are over; `first_to` says how many of a block end it. `goal`
and `up` are hits in a row, or among `goal_in` and `up_in` balls where those are not NULL; the best of a lane in
`longest_streaks` then is its most hits among so many. Where `in_sets` is 1, `up` and `down` count each so many balls
by themselves, and after `most_sets` of them on a rung the next is one up, after `down_sets` one down; where `ends` is
1, the last rung ends the block once it is won. `who` of a goal is the player whose count it is, "" where all count
together; of players in line `places` says which balls of the block these are. A ladder whose `ladder` is "" has a
feed for each rung, and is known by that of the first. A row of `scores` has what a score came to that begins in a
block, `ends` its ends in words, `ended` whether it reached one, and `judged` how many marks are known to have moved
it, 0 where a person counted. CHECK instead of STRICT, so that older SQLite libraries can read the file.
"""

FIRST_FEED = """(SELECT feed FROM shots JOIN lanes AS one ON one.id = shots.lane
    WHERE one.plan = lanes.plan AND one.block = lanes.block ORDER BY rung, shots.id LIMIT 1)"""
"""Of a row of `lanes` the feed by which its ladder is known."""

APPLICATION_ID = 0x46645772
"""SQLite's `application_id`: it distinguishes the log from the files of other programs."""

_UTC = "[0-9][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-6][0-9].[0-9][0-9][0-9]Z"

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE plans (
            id INTEGER PRIMARY KEY,
            digest TEXT NOT NULL UNIQUE CHECK (length(digest) = 64 AND digest NOT GLOB '*[^0-9a-f]*'),
            program TEXT NOT NULL CHECK (length(program) <= 400),
            session TEXT NOT NULL CHECK (length(session) <= 400),
            feeder TEXT NOT NULL CHECK (length(feeder) <= 400))""",
        """CREATE TABLE lanes (
            id INTEGER PRIMARY KEY,
            plan INTEGER NOT NULL REFERENCES plans,
            block INTEGER NOT NULL CHECK (typeof(block) = 'integer' AND block >= 0),
            variation TEXT NOT NULL CHECK (length(variation) <= 400),
            goal INTEGER CHECK (goal IS NULL OR (typeof(goal) = 'integer' AND goal > 0)),
            planned INTEGER NOT NULL CHECK (typeof(planned) = 'integer' AND planned > 0),
            ladder TEXT,
            up INTEGER CHECK ((up IS NULL) = (ladder IS NULL) AND (up IS NULL OR up > 0)),
            down INTEGER CHECK ((down IS NULL) = (within IS NULL) AND (down IS NULL OR down BETWEEN 1 AND within)),
            within INTEGER,
            UNIQUE (plan, block, variation))""",
        """CREATE TABLE shots (
            id INTEGER PRIMARY KEY,
            lane INTEGER NOT NULL REFERENCES lanes,
            shot TEXT NOT NULL CHECK (length(shot) <= 400),
            feed TEXT NOT NULL CHECK (length(feed) <= 400),
            rung INTEGER CHECK (rung IS NULL OR (typeof(rung) = 'integer' AND rung >= 0)),
            label TEXT CHECK ((label IS NULL) = (rung IS NULL)),
            UNIQUE (lane, shot), UNIQUE (lane, id))""",
        f"""CREATE TABLE practices (
            id INTEGER PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE CHECK (length(uid) = 32 AND uid NOT GLOB '*[^0-9a-f]*'),
            plan INTEGER NOT NULL REFERENCES plans,
            started TEXT NOT NULL CHECK (started GLOB '{_UTC}'),
            in_order INTEGER NOT NULL CHECK (in_order IN (0, 1)))""",
        # Clustered by its key: the balls of a lane lie together in the order they were played.
        f"""CREATE TABLE balls (
            practice INTEGER NOT NULL REFERENCES practices ON DELETE CASCADE,
            lane INTEGER NOT NULL,
            ball INTEGER NOT NULL CHECK (typeof(ball) = 'integer' AND ball > 0),
            shot INTEGER NOT NULL,
            at TEXT NOT NULL CHECK (at GLOB '{_UTC}'),
            verdict TEXT NOT NULL CHECK (verdict IN ('h', 'm', 'n')),
            PRIMARY KEY (practice, lane, ball),
            FOREIGN KEY (lane, shot) REFERENCES shots (lane, id)) WITHOUT ROWID""",
        """CREATE TABLE longest_streaks (
            practice INTEGER NOT NULL REFERENCES practices ON DELETE CASCADE,
            lane INTEGER NOT NULL REFERENCES lanes,
            best INTEGER NOT NULL CHECK (typeof(best) = 'integer' AND best >= 0),
            PRIMARY KEY (practice, lane)) WITHOUT ROWID""",
        """CREATE VIEW log AS
            SELECT plans.program, plans.digest AS plan, practices.uid AS practice, practices.started, balls.ball,
                lanes.block, shots.shot, shots.feed, lanes.variation, shots.rung + 1 AS rung, shots.label, balls.at,
                CASE balls.verdict WHEN 'h' THEN 'hit' WHEN 'm' THEN 'miss' ELSE 'not judged' END AS verdict,
                practices.in_order
            FROM balls JOIN practices ON practices.id = balls.practice JOIN plans ON plans.id = practices.plan
                JOIN lanes ON lanes.id = balls.lane JOIN shots ON shots.id = balls.shot""",
    ),
    (
        """CREATE TABLE corrections (
            id INTEGER PRIMARY KEY,
            day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
            profile TEXT NOT NULL CHECK (length(profile) BETWEEN 1 AND 400),
            balls INTEGER NOT NULL CHECK (typeof(balls) = 'integer' AND balls > 0),
            along REAL NOT NULL CHECK (typeof(along) = 'real' AND abs(along) < 50),
            aside REAL NOT NULL CHECK (typeof(aside) = 'real' AND abs(aside) < 50),
            UNIQUE (profile, day))""",
    ),
    (
        "ALTER TABLE shots ADD COLUMN player TEXT CHECK (player IS NULL OR length(player) <= 400)",
        "ALTER TABLE balls ADD COLUMN place INTEGER "
        "CHECK (place IS NULL OR (typeof(place) = 'integer' AND place >= 0))",
        """CREATE TABLE points (
            practice INTEGER NOT NULL REFERENCES practices ON DELETE CASCADE,
            block INTEGER NOT NULL CHECK (typeof(block) = 'integer' AND block >= 0),
            name TEXT NOT NULL CHECK (length(name) <= 400),
            won INTEGER NOT NULL CHECK (typeof(won) = 'integer' AND won >= 0),
            lost INTEGER NOT NULL CHECK (typeof(lost) = 'integer' AND lost >= 0),
            open INTEGER NOT NULL CHECK (typeof(open) = 'integer' AND open >= 0),
            PRIMARY KEY (practice, block, name)) WITHOUT ROWID""",
        "DROP VIEW log",
        """CREATE VIEW log AS
            SELECT plans.program, plans.digest AS plan, practices.uid AS practice, practices.started, balls.ball,
                lanes.block, shots.shot, shots.feed, lanes.variation, shots.rung + 1 AS rung, shots.label, balls.at,
                CASE balls.verdict WHEN 'h' THEN 'hit' WHEN 'm' THEN 'miss' ELSE 'not judged' END AS verdict,
                practices.in_order, shots.player
            FROM balls JOIN practices ON practices.id = balls.practice JOIN plans ON plans.id = practices.plan
                JOIN lanes ON lanes.id = balls.lane JOIN shots ON shots.id = balls.shot""",
    ),
    (
        "ALTER TABLE points ADD COLUMN first_to INTEGER "
        "CHECK (first_to IS NULL OR (typeof(first_to) = 'integer' AND first_to > 0))",
    ),
    (
        "ALTER TABLE lanes ADD COLUMN goal_in INTEGER "
        "CHECK (goal_in IS NULL OR (typeof(goal_in) = 'integer' AND goal_in > goal))",
        "ALTER TABLE lanes ADD COLUMN up_in INTEGER "
        "CHECK (up_in IS NULL OR (typeof(up_in) = 'integer' AND up_in > up))",
    ),
    ("ALTER TABLE lanes ADD COLUMN in_sets INTEGER NOT NULL DEFAULT 0 CHECK (in_sets IN (0, 1))",),
    (
        """CREATE TABLE goals (
            plan INTEGER NOT NULL REFERENCES plans,
            number INTEGER NOT NULL CHECK (typeof(number) = 'integer' AND number >= 0),
            block INTEGER NOT NULL CHECK (typeof(block) = 'integer' AND block >= 0),
            hits INTEGER NOT NULL CHECK (typeof(hits) = 'integer' AND hits > 0),
            among INTEGER CHECK (among IS NULL OR (typeof(among) = 'integer' AND among >= hits)),
            in_all INTEGER NOT NULL CHECK (in_all IN (0, 1)),
            variation TEXT CHECK (variation IS NULL OR length(variation) <= 400),
            points INTEGER NOT NULL CHECK (points IN (0, 1)),
            planned INTEGER NOT NULL CHECK (typeof(planned) = 'integer' AND planned > 0),
            known INTEGER NOT NULL CHECK (known IN (0, 1)),
            sheet INTEGER NOT NULL CHECK (typeof(sheet) = 'integer' AND sheet > 0),
            PRIMARY KEY (plan, number, block)) WITHOUT ROWID""",
    ),
    (
        "ALTER TABLE goals ADD COLUMN who TEXT NOT NULL DEFAULT '' CHECK (length(who) <= 400)",
        "ALTER TABLE goals ADD COLUMN places TEXT NOT NULL DEFAULT '' CHECK (places NOT GLOB '*[^0-9 -]*')",
        "ALTER TABLE lanes ADD COLUMN most_sets INTEGER "
        "CHECK (most_sets IS NULL OR (typeof(most_sets) = 'integer' AND most_sets > 0))",
    ),
    (
        "ALTER TABLE goals ADD COLUMN whole INTEGER NOT NULL DEFAULT 0 CHECK (whole IN (0, 1))",
        """CREATE TABLE scores (
            practice INTEGER NOT NULL REFERENCES practices ON DELETE CASCADE,
            block INTEGER NOT NULL CHECK (typeof(block) = 'integer' AND block >= 0),
            sheet INTEGER NOT NULL CHECK (typeof(sheet) = 'integer' AND sheet > 0),
            score INTEGER NOT NULL CHECK (typeof(score) = 'integer'),
            goal INTEGER CHECK (goal IS NULL OR typeof(goal) = 'integer'),
            ends TEXT NOT NULL CHECK (length(ends) <= 40),
            ended INTEGER NOT NULL CHECK (ended IN (0, 1)),
            judged INTEGER NOT NULL CHECK (typeof(judged) = 'integer' AND judged >= 0),
            PRIMARY KEY (practice, block)) WITHOUT ROWID""",
    ),
    (
        "ALTER TABLE lanes ADD COLUMN down_sets INTEGER "
        "CHECK (down_sets IS NULL OR (typeof(down_sets) = 'integer' AND down_sets > 0))",
        "ALTER TABLE lanes ADD COLUMN ends INTEGER NOT NULL DEFAULT 0 CHECK (ends IN (0, 1))",
    ),
    (
        "ALTER TABLE scores RENAME TO shared_scores",
        """CREATE TABLE scores (
            practice INTEGER NOT NULL REFERENCES practices ON DELETE CASCADE,
            block INTEGER NOT NULL CHECK (typeof(block) = 'integer' AND block >= 0),
            who TEXT NOT NULL DEFAULT '' CHECK (length(who) <= 400),
            sheet INTEGER NOT NULL CHECK (typeof(sheet) = 'integer' AND sheet > 0),
            score INTEGER NOT NULL CHECK (typeof(score) = 'integer'),
            goal INTEGER CHECK (goal IS NULL OR typeof(goal) = 'integer'),
            ends TEXT NOT NULL CHECK (length(ends) <= 40),
            ended INTEGER NOT NULL CHECK (ended IN (0, 1)),
            judged INTEGER NOT NULL CHECK (typeof(judged) = 'integer' AND judged >= 0),
            PRIMARY KEY (practice, block, who)) WITHOUT ROWID""",
        "INSERT INTO scores (practice, block, sheet, score, goal, ends, ended, judged) "
        "SELECT practice, block, sheet, score, goal, ends, ended, judged FROM shared_scores",
        "DROP TABLE shared_scores",
    ),
)
