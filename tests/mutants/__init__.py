"""Tests that can fail: one change at a time is made to a copy of the sources, and some test has to notice it.

    pip install -e '.[test,mutants]'
    pytest -m mutants -s tests/mutants                          # the sample: 300 changes
    MUTANTS=40 SEED=3 pytest -m mutants -s tests/mutants        # fewer, and others
    pytest -m mutants -s tests/mutants --mutants FILE           # goes on with what FILE holds, and adds to it
    MUTANTS_OF=compiler/check pytest -m mutants -s tests/mutants    # of the sample what is in there

`areas.py` says what is changed and which tests have to notice it, `sample.py` draws the changes, `operators.py` has
those that the tool from the registry lacks, `worker.py` runs tests in the copy, first those that enter the changed
function, `equivalent.toml` lists what nobody can see, each with the reason.
"""
