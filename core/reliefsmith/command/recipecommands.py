"""The commands that print what can be set: all settings, and the shipped presets."""

from __future__ import annotations

import sys
from typing import Annotated

from ..recipe.asked import asked_recipe
from ..statuses import DONE
from .options import Preset, named
from .streams import print_json

__all__ = ["show_presets", "show_recipe"]


def show_recipe(preset: Preset = None) -> int:
    """Print every setting with unit and help, as TOML."""
    sys.stdout.write(asked_recipe(None, preset).to_toml(with_help=True))
    return DONE


def show_presets(
    as_json: Annotated[bool, named("--json", about="Print all that they say of themselves as JSON.")] = False,
) -> int:
    """List the shipped presets: names for --preset, and what each is for."""
    from ..recipe.presets import preset_forms
    from ..recipe.settings import specs

    forms = preset_forms()
    if as_json:
        told = {name: {key: getattr(form, key) for key in specs(type(form))} for name, form in forms.items()}
        print_json({"schema": 1, "presets": told})
        return DONE
    wide = max(map(len, forms))
    for name, form in forms.items():
        sys.stdout.write(f"{name:<{wide}}  {form.about}\n")
    return DONE
