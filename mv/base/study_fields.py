"""What the study's records are built of: an immutable record and the common kinds of field."""

from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=4000)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
Names = Annotated[tuple[Name, ...], BeforeValidator(lambda v: (v,) if isinstance(v, str) else v)]
NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]


class Record(BaseModel):
    """Immutable, and refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


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
