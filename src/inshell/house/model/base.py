"""What every part of the house file shares."""

from __future__ import annotations

import re
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

_UNIT = re.compile(r"_(m3_s_m2|m3_s|m2k_w|w_m2k|w_mk|kg_m3|j_kgk|w_m2|m_s|deg|sone|m2|m3|pa|ppm|m|c|k|w|s|h)$")


def file_key(field: str) -> str:
    """The key in the file: the field's name without its unit.

    >>> file_key("rated_flow_m3_s"), file_key("room")
    ('rated_flow', 'room')
    """
    return _UNIT.sub("", field).removesuffix("_")


class Part(BaseModel):
    """A frozen part of the house; unknown keys are refused."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=file_key, populate_by_name=True, validate_default=False
    )


def note() -> Any:
    """A field for the person's own words; no calculation reads it."""
    return Field("", description="your own words; no calculation reads them")
