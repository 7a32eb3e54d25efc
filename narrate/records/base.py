"""How records are read: strictly what a person wrote, leniently what narrate wrote."""

from pydantic import BaseModel, ConfigDict


class Written(BaseModel):
    """Something a person writes by hand: an unknown key is a mistake worth telling."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Kept(BaseModel):
    """Something narrate writes: fields of a later program are kept and written back."""

    model_config = ConfigDict(extra="allow", frozen=True)
