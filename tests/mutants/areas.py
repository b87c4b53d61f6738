"""What is changed, in which shares, and which tests have to notice it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Area:
    """`share` of the sample, in hundredths; `tests` under tests/, those that take little time first, by module of the
    area where a module has tests of its own: a module's own come first, then those under ""."""

    parts: tuple[str, ...]
    share: int
    tests: dict[str, str]


AREAS = {
    "check": Area(("compiler/check",), 16, {
        "answers": "test_answers test_player",
        "device": "test_clock_laws",
        "player": "test_player",
        "practice": "test_goals",
        "scores": "test_scores",
        "": "test_findings test_cases test_bounds log/test_ladder_entry",
    }),
    "findings": Area(("compiler/findings", "grammar/facts.py", "grammar/finding.py"), 6, {
        "": "test_findings test_cases",
    }),
    "verify": Area(("compiler/verify.py",), 13, {
        "": "test_verify test_verify_orders test_people test_points test_refill test_verdict test_built_is_played "
            "test_bounds test_clock test_verify_mutations replay/test_commands",
    }),
    "schedule": Area(("compiler/schedule.py", "compiler/even.py"), 7, {
        "": "test_clock test_clock_laws test_refill test_people test_points test_rungs test_until test_kept test_cases",
    }),
    "physics": Area(("compiler/physics",), 17, {
        "air": "physics/test_air physics/test_ball",
        "ball": "physics/test_ball physics/test_flight_independent",
        "bounce": "physics/test_bounce physics/test_outcome",
        "fans": "physics/test_fans",
        "flight": "physics/test_flight physics/test_flight_moments physics/test_flight_independent",
        "heights": "test_bars",
        "launches": "physics/test_launches",
        "moments": "physics/test_flight_moments physics/test_flight physics/test_flight_independent",
        "normal": "physics/test_spread",
        "outcome": "physics/test_outcome",
        "point": "physics/test_launches",
        "reply": "physics/test_reply",
        "spread": "physics/test_spread test_bars",
        "strokes": "physics/test_strokes physics/test_bounded_replies",
        "struck": "physics/test_fans physics/test_strokes",
        "wheels": "physics/test_wheels",
        "": "test_cases test_answers",
    }),
    "calibration": Area(("compiler/calibration",), 8, {
        "answer": "calibration/test_typed_readings",
        "choice": "calibration/test_scripts calibration/test_measure_command calibration/test_figures",
        "day": "calibration/test_day",
        "invented": "calibration/test_device_differs calibration/test_figures",
        "person": "calibration/test_person",
        "place": "calibration/test_fly_command calibration/test_scripts",
        "readings": "calibration/test_typed_readings calibration/test_measure_command",
        "scripts": "calibration/test_scripts",
        "solver": "calibration/test_solver",
        "": "calibration/test_learn calibration/test_day calibration/test_measure_command calibration/test_figures",
    }),
    "wire": Area(("targets/machine/wire",), 6, {
        "template": "replay/test_own_commands replay/test_commands",
        "": "replay/test_wire replay/test_talk_vectors replay/test_device_rules replay/test_device_cases "
            "targets/test_lines replay/test_protocol_page replay/test_host_cases",
    }),
    "replay": Area(("targets/machine/replay",), 21, {
        "afterwards": "replay/test_records replay/test_writer",
        "bells": "replay/test_bells",
        "brake": "replay/test_loop",
        "checked": "replay/test_checked replay/test_commands",
        "clocks": "replay/test_street",
        "command": "replay/test_stand_in replay/test_commands replay/test_records replay/test_records_rig",
        "console_keys": "replay/test_keys",
        "continuing": "replay/test_records",
        "conversation": "replay/test_street replay/test_fault_table",
        "device": "replay/test_device_rules replay/test_device_cases replay/test_mutants",
        "diagnosis": "replay/test_diagnosis",
        "display": "replay/test_screen replay/test_loop replay/test_terminal",
        "dry": "replay/test_commands test_clock",
        "explain": "replay/test_device_rules",
        "figures": "replay/test_screen replay/test_commands",
        "journal": "replay/test_records replay/test_writer",
        "keyboard": "replay/test_keys",
        "keys": "replay/test_keys",
        "layout": "replay/test_screen replay/test_loop",
        "line": "replay/test_faulty_line",
        "link": "replay/test_link replay/test_own_commands replay/test_raw_bytes",
        "loop": "replay/test_loop replay/test_screen test_replay_page",
        "mechanism": "replay/test_device_rules replay/test_device_cases replay/test_mutants",
        "own_commands": "replay/test_own_commands",
        "picture": "replay/test_picture replay/test_screen replay/test_loop",
        "places": "replay/test_until replay/test_points",
        "playing": "replay/test_restarts replay/test_terminal",
        "points": "replay/test_points replay/test_until",
        "request": "replay/test_commands replay/test_records",
        "screen": "replay/test_screen replay/test_loop replay/test_terminal",
        "run": "replay/test_until replay/test_points replay/test_records",
        "stand_in": "replay/test_stand_in replay/test_device_rules replay/test_restarts",
        "state": "replay/test_until replay/test_points",
        "terminal_keys": "replay/test_keys replay/test_terminal",
        "writer": "replay/test_writer replay/test_records",
        "": "replay/test_host_cases replay/test_street replay/test_own_commands replay/test_host_mutants "
            "replay/test_until replay/test_points replay/test_loop replay/test_screen replay/test_fault_table "
            "replay/test_records replay/test_commands",
    }),
    "log": Area(("targets/log",), 14, {
        "advice": "log/test_against_plan log/test_figures",
        "command": "log/test_exchange log/test_log_commands log/test_next_practice",
        "corrections": "log/test_corrections",
        "points": "log/test_points log/test_point_counts",
        "score_figures": "log/test_scores",
        "scores": "replay/test_scores",
        "typed": "log/test_typed",
        "typed_points": "log/test_point_counts",
        "typed_scores": "log/test_scores",
        "typed_units": "log/test_typed",
        "until": "replay/test_until replay/test_points",
        "": "log/test_progress log/test_against_plan log/test_figures log/test_continued log/test_exchange "
            "log/test_corrections log/test_ladder_entry log/test_store log/test_chance log/test_faults "
            "log/test_log_commands log/test_next_practice log/test_typed",
    }),
}  # fmt: skip


def files_for(area: str, file: str) -> list[str]:
    """The files that have to notice a change of one file."""
    tests = AREAS[area].tests
    module = file.rpartition("/")[2].removesuffix(".py")
    names = [*tests.get(module, "").split(), *tests[""].split()]
    return [f"tests/{name}.py" for name in dict.fromkeys(names)]
