"""Color profiles: from the picture's own color space to sRGB."""

from __future__ import annotations

import io

from PIL import Image, ImageCms

__all__ = ["to_srgb"]

_SPACES = {"L": "GRAY", "RGB": "RGB", "CMYK": "CMYK"}


def to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return the picture in sRGB, mode RGB or RGBA.

    Parameters
    ----------
    image : PIL image
        Mode L, RGB, CMYK or RGBA.
    profile : bytes or None
        ICC profile; without one, or with one that is damaged or for other channels, the values are taken
        as sRGB.
    """
    alpha = image.getchannel("A") if image.mode == "RGBA" else None
    flat = image.convert("RGB") if alpha is not None else image
    converted = _converted(flat, profile) if profile else None
    rgb = converted if converted is not None else flat
    if alpha is not None:
        rgb.putalpha(alpha)
    return rgb if rgb.mode in ("RGB", "RGBA") else rgb.convert("RGB")


def _converted(image: Image.Image, profile: bytes) -> Image.Image | None:
    try:
        own = ImageCms.getOpenProfile(io.BytesIO(profile))
        if own.profile.xcolor_space.strip() != _SPACES[image.mode]:
            return None
        if "srgb" in (own.profile.profile_description or "").lower().replace(" ", ""):
            return None
        return ImageCms.profileToProfile(
            image,
            own,
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None
