"""What decisions said of the levels, kept as readings for whatever is believed next."""

from __future__ import annotations

from dataclasses import replace

from greenwright.stats.dynamic.fitting import DynamicFit


def kept(fit: DynamicFit) -> DynamicFit:
    """Return a fit whose rows hold what each decision came to say of its level.

    Decisions enter a fit as rows without an error of their own; their values and variances are
    found anew at every point of the hyper-parameters. Here those of the best point stay, so that
    the decisions on another practice can be believed beside.
    """
    layout, at = fit.layout, fit.at[0]
    value, variance = layout.rows.value.copy(), layout.rows.variance.copy()
    fixed = layout.border.fixed
    for one in at.chunks:
        real = one.batch.real > 0
        row = one.batch.row[real]
        mine = layout.rows.settled[row] == 0
        centre = (one.design[:, :, :fixed] @ layout.centre)[real]
        value[row[mine]] = (one.value[real] + centre)[mine]
        variance[row[mine]] = one.noise[real][mine]
    return replace(
        fit, layout=replace(layout, rows=replace(layout.rows, value=value, variance=variance))
    )
