# SPDX-License-Identifier: GPL-3.0-or-later
"""The words by which the panels call settings: a key's own, or plainer ones where that says too little."""

from __future__ import annotations

from reliefsmith.recipe.settings import Spec

_PLAINER = {
    "artwork.kind": "Kind of Picture",
    "size.width_mm": "Art Width",
    "size.height_mm": "Art Height",
    "size.longest_mm": "Longest Side",
    "size.measure": "Size Is Of",
    "form.about": "Meant For",
    "form.example": "Example Words",
    "form.least_mm": "Least Art",
    "background.mode": "Found By",
    "background.enclosed": "Enclosed",
    "colors.count": "How Many",
    "colors.most": "Most Loaded",
    "colors.base": "Base Color",
    "areas.curves": "SVG Curves",
    "base.border_mm": "Border Width",
    "base.small_opening_mm": "Small Below",
    "base.margin_mm": "Motif Margin",
    "base.min_width_mm": "Least Width",
    "base.rim_mm": "Rim Width",
    "base.field_mm": "Field for Texts",
    "base.spike_mm": "Spike Size",
    "motif.min_stroke_mm": "Least Stroke",
    "motif.min_gap_mm": "Least Gap",
    "motif.min_dot_mm": "Least Dot",
    "pieces.connect": "Joined By",
    "pieces.link_mm": "Link Width",
    "hang.hole_mm": "Hole Diameter",
    "hang.wall_mm": "Wall Round It",
    "hang.at_mm": "Hole Center",
    "hang.slot_mm": "Slot Size",
    "hang.magnet_mm": "Magnet Size",
    "hang.pin_mm": "Pin Bar Size",
    "hang.tape_mm": "Tape Size",
    "back.picture": "Second Picture",
    "back.colors": "Colors",
    "back.palette": "Printed In",
    "back.width_mm": "Width",
    "back.at_mm": "Middle",
    "back.turn_deg": "Turn",
    "back.depth_mm": "Depth",
    "heights.base_mm": "Base Height",
    "heights.motif_mm": "Motif Height",
    "heights.layer_mm": "Layer Height",
    "heights.face": "Printed Face",
    "heights.split": "Two Plates",
    "heights.foot_mm": "First Layer Inset",
    "heights.top": "Top Shape",
    "heights.edge_mm": "Bevel Height",
    "heights.edge_deg": "Bevel Angle",
    "heights.crown_mm": "Crown Height",
    "heights.higher": "What Is High",
    "heights.least_mm": "Lowest Motif",
    "heights.hand": "Relief File",
    "heights.hand_origin": "First Value At",
    "heights.hand_step": "Value Spacing",
    "heights.hand_range_mm": "Black, White",
    "heights.hand_reach": "Flush Tops Rise",
    "heights.colors.height_mm": "Motif Height",
    "printer.nozzle_mm": "Nozzle Width",
    "printer.hole_loss_mm": "Holes Shrink By",
    "printer.bed_mm": "Bed Size",
    "printer.filaments": "Loaded at Once",
    "printer.flow_mm3_s": "Mean Flow",
    "printer.layer_s": "Lost per Layer",
    "printer.change_s": "Change Time",
    "printer.change_attended_min": "Change Work",
    "printer.purge_mm3": "Purge",
    "printer.filament_mm": "Filament Width",
    "printer.density_g_cm3": "Density",
    "stand.kind": "Stands In",
    "stand.lean_deg": "Leans Back By",
    "stand.width_mm": "Foot Width",
    "stand.slot_mm": "Slot Depth",
    "stand.clearance_mm": "Slot Gap",
    "stand.depth_mm": "Foot Depth",
    "handle.kind": "Held By",
    "handle.height_mm": "Grip Height",
    "handle.thick_mm": "Grip Width",
    "handle.plate_mm": "Plate Height",
    "artwork.mirror": "Mirror",
    "lettering.mirror": "Mirror",
    "housing.kind": "Is the Face Of",
    "housing.depth_mm": "Lamps to Face",
    "housing.wall_mm": "Wall Width",
    "housing.lip_mm": "Lip Width",
    "housing.clearance_mm": "Gap",
    "housing.cable_mm": "Cable Notch",
    "housing.lamp_pitch_mm": "Lamps Apart",
    "seams.mode": "Cut the Piece",
    "seams.joint": "Joint",
    "seams.reach_mm": "Key Reach",
    "seams.clearance_mm": "Gap",
    "seams.numbers": "Number the Parts",
    "seams.lines.from_mm": "From",
    "seams.lines.to_mm": "To",
    "beds.spacing_mm": "Piece Spacing",
    "beds.cell_mm": "Place Step",
    "beds.turns": "Pieces Turn By",
    "beds.strip_mm": "Free Strip",
    "beds.first_alone": "First Piece Alone",
    "cost.order_min": "Order Work",
    "cost.bed_min": "Bed Work",
    "cost.finish_min": "Finishing Work",
    "cost.fit_min": "Fitting Work",
    "cost.pack_min": "Packing Work",
    "cost.hardware_each": "Hardware of a Piece",
    "cost.packing_each": "Packing of a Piece",
    "cost.change_g": "Lost at a Change",
    "cost.failures": "Share That Fails",
    "cost.profit": "Profit Share",
    "cost.minimum": "Least Price",
    "cost.round_to": "Round Up To",
    "cost.round_what": "Rounded Is",
    "cost.tax": "Tax Share",
    "cost.corrections": "Corrections Included",
    "order.reference": "Their Reference",
    "order.spelling": "Exact Spelling",
    "order.hardware": "Hardware Asked For",
    "order.rights": "Rights in the Art",
    "filaments.stock.grams": "Left",
    "filaments.stock.opaque_mm": "Opaque At",
    "filaments.stock.thin_color": "Test Color",
    "filaments.stock.thin_mm": "Test Layer",
    "filaments.stock.thin_over": "Test Ground",
    "marks.at": "Area",
    "marks.at_mm": "Place",
    "marks.polygon_mm": "Corners",
    "marks.value": "Color or Width",
    "lettering.place": "Side",
    "lettering.at_mm": "Place",
    "lettering.box_mm": "Box",
    "lettering.area": "Area",
    "lettering.area_mm": "Point in Area",
    "lettering.arc_mm": "Radius of Arc",
    "lettering.size_mm": "Capitals",
    "lettering.turn_deg": "Turn",
    "lettering.depth_mm": "Depth if Sunk",
}


def label(owner: str, key: str, unit: str = "") -> str:
    """Return the words of a key of a section or table; a unit that Blender does not write stands in brackets.

    "border_mm" of "base" is "Border Width", "flow_mm3_s" of "printer" is "Mean Flow (mm3/s)".
    """
    words = _PLAINER.get(f"{owner}.{key}") or title(_bare(key, unit))
    return f"{words} ({unit})" if unit not in ("", "mm") else words


def title(choice: str) -> str:
    """Return the words of a choice, such as "No Link" for "no-link"."""
    return choice.replace("-", "_").replace("_", " ").title()


def tooltip(spec: Spec) -> str:
    """Return a setting's help, with its unit."""
    text = spec.help[:1].upper() + spec.help[1:]
    return f"{text} ({spec.unit})" if spec.unit else text


def plainer() -> tuple[str, ...]:
    """Return the settings that are called by other words than their key."""
    return tuple(_PLAINER)


def _bare(key: str, unit: str) -> str:
    """Return a key without the unit that ends it."""
    return key.removesuffix("_" + unit.replace("/", "_")) if unit else key
