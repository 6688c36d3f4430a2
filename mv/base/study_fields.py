"""What the study's records are built of: an immutable record and the common kinds of field."""

from functools import cache
from typing import Annotated, Any, get_args

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationInfo,
    field_validator,
)
from pydantic_core import PydanticCustomError

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=4000)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
Names = Annotated[tuple[Name, ...], BeforeValidator(lambda v: (v,) if isinstance(v, str) else v)]
NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]


class Record(BaseModel):
    """Immutable, and refuses keys it does not know, and texts or truth values where a number is meant."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _of_its_kind(cls, value: object, info: ValidationInfo) -> object:
        kinds, found = _kinds(cls, str(info.field_name)), _types_in(value)
        if bool in kinds and found & {int, float, str}:
            raise PydanticCustomError("bool_type", "should be true or false")
        if kinds & {int, float} and found & {str, bool}:
            raise PydanticCustomError("float_type", "should be a valid number")
        return value


@cache
def _kinds(record: type[BaseModel], field: str) -> frozenset[type]:
    """The plain types that a record's field may hold, at any depth of lists and choices."""

    def leaves(annotation: Any) -> set[type]:
        if isinstance(annotation, type) and not get_args(annotation):
            return {annotation}
        return {leaf for part in get_args(annotation) for leaf in leaves(part)}

    return frozenset(leaves(record.model_fields[field].annotation))


def _types_in(value: object) -> set[type]:
    """The types of a value, or of the items of a list at any depth; tables are left to their own record."""
    if isinstance(value, list | tuple):
        return {found for item in value for found in _types_in(item)}
    return {type(value)}


class MismatchError(ValueError):
    """What is wrong in a record, with the value found and the remedy; a validator raises it.

    `place` where it stands elsewhere than the record itself; `several` for all that is wrong at once.
    """

    def __init__(
        self,
        what: str,
        *,
        value: object = None,
        remedy: str | None = None,
        place: str | None = None,
        several: "tuple[MismatchError, ...]" = (),
    ) -> None:
        self.what, self.value, self.remedy, self.place, self.several = what, value, remedy, place, several
        super().__init__(what)
