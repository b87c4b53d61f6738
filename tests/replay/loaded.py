"""What forked processes find done: pydantic's models of a plan, which take half of the time of a short practice.

That a new interpreter makes them is asked elsewhere, of `feedwright` in processes of its own.
"""

from feedwright.compiler.model.incoming import model
from feedwright.compiler.model.plan import Plan

model(Plan)
