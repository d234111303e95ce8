"""Pictures of bands: every sale a point, median and quartiles, on a log axis of price."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

INK = "#22303c"
POINT = "#3b6e8f"
MEDIAN = "#b3541e"
MOST_POINTS = 400


@dataclass(frozen=True)
class BandPicture:
    """One band to draw: its name, the prices of its sales and its figures."""

    label: str
    prices: npt.NDArray[np.float64]
    p25: float
    median: float
    p75: float
    n_sales: int


def draw_bands(bands: list[BandPicture], currency: str) -> str:
    """An SVG picture of bands, one a line, the dearest on top.

    A band of more than 400 sales shows an even selection of them by price, and says so in its
    label. The medians have a shape of their own, so that colour is never the only sign.
    """
    import matplotlib

    matplotlib.use("svg")
    from matplotlib import pyplot as plt
    from matplotlib.ticker import FuncFormatter, NullFormatter

    with plt.rc_context({"svg.fonttype": "none", "font.size": 10, "font.family": "sans-serif",
                         "svg.hashsalt": "bands"}):  # fmt: skip
        figure, axes = plt.subplots(figsize=(9.4, 0.9 + 0.44 * len(bands)))
        ordered = sorted(bands, key=lambda b: b.median)
        for row, band in enumerate(ordered):
            _draw_one(axes, row, band)
        axes.set_xscale("log")
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.6g}"))
        axes.xaxis.set_minor_formatter(NullFormatter())
        axes.set_yticks(range(len(ordered)), [b.label for b in ordered])
        axes.set_ylim(-0.7, len(ordered) - 0.3)
        axes.set_xlabel(f"price, {currency} (log scale)")
        axes.grid(axis="x", which="major", color="#d8dee3", linewidth=0.7)
        axes.set_axisbelow(True)
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
        axes.tick_params(axis="y", length=0)
        out = io.StringIO()
        figure.savefig(out, format="svg", bbox_inches="tight", metadata={"Date": None})
        plt.close(figure)
    svg = out.getvalue()
    return svg[svg.index("<svg") :]


def _draw_one(axes: Any, row: int, band: BandPicture) -> None:
    prices = np.sort(band.prices)
    if len(prices) > MOST_POINTS:
        prices = prices[np.linspace(0, len(prices) - 1, MOST_POINTS).astype(int)]
    # spread by rank, not by chance, so that the same sales give the same picture
    lift = (((np.arange(len(prices)) * 0.6180339887) % 1) - 0.5) * 0.52
    axes.scatter(prices, row + lift, s=7, color=POINT, alpha=0.35, linewidths=0)
    axes.plot([band.p25, band.p75], [row, row], color=INK, linewidth=5, alpha=0.55,
              solid_capstyle="butt")  # fmt: skip
    axes.scatter([band.median], [row], marker="D", s=38, color=MEDIAN, edgecolors="white",
                 linewidths=0.8, zorder=3)  # fmt: skip
