"""Color kernel: spaces, differences and plain words for colors, on arrays; knows no stage."""

from __future__ import annotations

from .difference import ciede2000, contrast_ratio
from .noise import noise_sigma
from .spaces import (
    decode_srgb,
    encode_srgb,
    from_luma_chroma,
    level_of,
    linear_to_oklab,
    linear_to_srgb,
    luma,
    luma_axes,
    luma_chroma,
    relative_luminance,
    srgb_to_lab,
    srgb_to_linear,
    srgb_to_oklab,
)
from .words import color_phrase, color_word, parse_hex, to_hex, unique_names

__all__ = [
    "ciede2000",
    "color_phrase",
    "color_word",
    "contrast_ratio",
    "decode_srgb",
    "encode_srgb",
    "from_luma_chroma",
    "level_of",
    "linear_to_oklab",
    "linear_to_srgb",
    "luma",
    "luma_axes",
    "luma_chroma",
    "noise_sigma",
    "parse_hex",
    "relative_luminance",
    "srgb_to_lab",
    "srgb_to_linear",
    "srgb_to_oklab",
    "to_hex",
    "unique_names",
]
