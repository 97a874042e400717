# SPDX-License-Identifier: GPL-3.0-or-later
"""Relief: one flat picture in, aligned watertight colored parts in the scene.

Every computation is the bundled core's; this add-on shows its settings, runs it and brings its parts in.
"""

from __future__ import annotations

from . import health, trouble


def register() -> None:
    """Register everything, or only a panel that says in plain words why it cannot work."""
    words = health.trouble()
    if words:
        trouble.register(words)
        return
    # The rest imports the bundled core, which is known to work only now.
    from . import handles, operators, panels, run, state  # noqa: PLC0415

    state.register()
    run.register()
    operators.register()
    panels.register()
    handles.register()


def unregister() -> None:
    """Undo `register` item by item in reverse order."""
    if trouble.unregister():
        return
    from . import handles, operators, panels, run, state  # noqa: PLC0415

    handles.unregister()
    panels.unregister()
    operators.unregister()
    run.unregister()
    state.unregister()
