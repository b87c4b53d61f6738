"""The records of a plan as pydantic understands them: it judges plans that come from outside, and describes what one
may hold."""

from collections.abc import Mapping
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model
from pydantic_core import ErrorDetails

from .plan import Plan
from .record import Listed, Record, Slip, Spelled, Unsound, Within

STRICT = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


def entries(data: bytes) -> dict[str, Any]:
    """Those of a plan in a JSON document, and no others; Unsound if one is not of its kind or not within its bounds.
    Text or true in place of a number is wrong, even if it could be converted, and so is 90.0 in place of 90: the digest
    is that of the document, which a plan writes with 90."""
    try:
        return model(Plan).model_validate_json(data, strict=True).model_dump()
    except ValidationError as error:
        raise Unsound([_slip(slip) for slip in error.errors(include_url=False)]) from None


def _slip(error: ErrorDetails) -> Slip:
    limits = error.get("ctx", {})
    bounds = Within(limits.get("ge"), limits.get("gt"), limits.get("le"))
    broken = any(limit is not None for limit in bounds)
    return Slip(error["loc"], "wanted", error["input"], bounds=bounds if broken else None)


@cache
def model(record: type[Record]) -> type[BaseModel]:
    """With the entries of the record and their bounds, and without what entries say against each other."""
    entries: dict[str, Any] = {name: (_kind(kind), getattr(record, name, ...)) for name, kind in record._kinds.items()}
    return create_model(record.__name__, __config__=STRICT, **entries)


def _kind(kind: Any) -> Any:
    origin, of = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return Annotated[_kind(of[0]), _field(of[1])]
    if origin in (UnionType, Union):
        return Union[tuple(map(_kind, of))]  # noqa: UP007 - made from a list
    if origin is tuple:
        return tuple[tuple(one if one is ... else _kind(one) for one in of)]  # type: ignore[misc]
    if origin is Mapping:
        return dict[_kind(of[0]), _kind(of[1])]  # type: ignore[misc]
    if origin is Literal or kind is NoneType or not issubclass(kind, Record):
        return kind
    return model(kind)


def _field(bounds: Within | Spelled | Listed) -> Any:
    match bounds:
        case Within(ge, gt, le):
            return Field(ge=ge, gt=gt, le=le)
        case Spelled(least, most, pattern):
            return Field(min_length=least or None, max_length=most, pattern=pattern or None)
        case Listed(least, most):
            return Field(min_length=least, max_length=most)


def schema() -> dict[str, Any]:
    """Of a plan as it is written: every entry is there, also one that has a default."""
    return model(Plan).model_json_schema(mode="serialization")
