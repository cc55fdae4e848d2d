"""The rental fleet of Kestrel Hollow: reads the merged sweep of fleet.toml, prints what it says,
and writes the desk's table (setups.csv) and four plots into a folder.

    plunge sweep scenarios/plans/fleet.toml -o out/fleet
    plunge sweep merge out/fleet -o out/fleet.h5
    python3 scenarios/plans/fleet.py out/fleet.h5 out/fleet-plots

Runs whole or cell by cell (# %%). Needs Debian's python3-xarray, python3-netcdf4 and
python3-matplotlib.

Care: let all air out before you open a fork, never exceed the maker's pressure or spacer limit, and
ask a qualified mechanic when in doubt. A prediction is no safety certificate: try each setup on
easy ground first, and read the ring on the leg.
"""

# %% What is asked for
import argparse
import csv
import json
import pathlib

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
import xarray

arguments = argparse.ArgumentParser(description="What the sweep of the rental fleet says.")
arguments.add_argument("sweep", help="file of plunge sweep merge")
arguments.add_argument("folder", type=pathlib.Path, help="where plots and table go")
arguments.add_argument("--report", help="output of plunge sweep report --json, to compare with")
asked = arguments.parse_args()
asked.folder.mkdir(parents=True, exist_ok=True)

# Limits of a setup, on every scene.
TRAVEL_USE_MOST = 0.95  # some travel is left for what the scenes do not hold
SAG = (0.15, 0.33)  # below: the front stands high; above: it wallows and dives
PSI = 6894.757293168361  # Pa
SAG_TEXT = f"{100 * SAG[0]:.0f} to {100 * SAG[1]:.0f} % of sag"
USE_TEXT = f"{100 * TRAVEL_USE_MOST:.0f} % of the travel"
SPACERS, PRESSURE, CLICKS = SETUP = ("fork_spacers", "fork_pressure", "fork_rebound_clicks")

# %% The data: one labelled array per metric, on scene, fork, rider, spacers, pressure, clicks
sweep = xarray.open_dataset(asked.sweep, engine="netcdf4").load()
# Scenes, forks and riders are told by their labels in place of their numbers.
LABELS = {axis: f"{axis}_label" for axis in sweep.travel_use.dims if f"{axis}_label" in sweep}
sweep = sweep.swap_dims(LABELS).drop_vars(LABELS).rename({b: a for a, b in LABELS.items()})
DIMENSIONS = sweep.travel_use.dims
NAMES = {axis: sweep[axis].attrs.get("parameter", axis) for axis in DIMENSIONS}  # as plunge has it
SHORT = {axis: name.removeprefix("fork.") for axis, name in NAMES.items()}
sweep = sweep.assign_coords({PRESSURE: sweep[PRESSURE] / PSI})
sweep[PRESSURE].attrs["units"] = "psi"
CELLS = [(str(f), str(r)) for f in sweep.fork.values for r in sweep.rider.values]
failed = int((sweep.origin == 2).sum())
redone = (sweep.origin == 1).mean([d for d in DIMENSIONS if d != "scene"])
print(f"{sweep.attrs['title']}: {sweep.travel_use.size} rides, {failed} failed")
print("redone by the adaptive path, of each scene's rides:")
for scene in sweep.scene.values:
    print(f"  {scene:<16} {100 * float(redone.sel(scene=scene)):5.1f} %")

# Of a setup, over the scenes: the most travel, and how rough the hands have it.
travel_use = 100 * sweep.travel_use.max("scene", skipna=False)  # [%]
hands = sweep.hand_force_rms.mean("scene", skipna=False)  # [N]
sag_fits = ((sweep.sag_share >= SAG[0]) & (sweep.sag_share <= SAG[1])).all("scene")


# %% (a) How travel use and hand force depend on pressure and spacers
def slope(quantity, axis, step):
    """Mean change of a quantity for one step of an axis, over the setups whose sag fits."""
    if quantity.sizes[axis] < 2:
        return np.nan
    return float(quantity.differentiate(axis).where(sag_fits).sel(cell).mean()) * step


STEPS = ((PRESSURE, 10.0, "10 psi"), (SPACERS, 1.0, "1 spacer"), (CLICKS, 4.0, "4 clicks"))
print(f"\nWhat one step more does, as a mean over setups with {SAG_TEXT}")
print(f"{'':26}{'most travel used [% of travel]':>33}{'hand force, rms [N]':>33}")
print(f"{'':26}" + "".join(f"{'+' + label:>11}" for _, _, label in STEPS * 2))
for fork, rider in CELLS:
    cell = {"fork": fork, "rider": rider}
    numbers = [slope(travel_use, axis, step) for axis, step, _ in STEPS]
    numbers += [slope(hands, axis, step) for axis, step, _ in STEPS]
    cells = [f"{number:+.2f}" if np.isfinite(number) else "-" for number in numbers]
    print(f"{fork:<14}{rider:<12}" + "".join(f"{cell:>11}" for cell in cells))


def over_pressure(quantity, label, limit, name, title):
    """Quantity over pressure, a line for each spacer count; a panel for each fork and rider."""
    clicks = float(sweep[CLICKS][sweep.sizes[CLICKS] // 2 - 1])
    rows, columns = sweep.sizes["fork"], sweep.sizes["rider"]
    figure, panels = plt.subplots(
        rows, columns, figsize=(3.4 * columns + 0.6, 2.6 * rows + 1.1), sharex=True, sharey=True,
        squeeze=False, constrained_layout=True,
    )  # fmt: skip
    colours = plt.cm.viridis(np.linspace(0.0, 0.85, sweep.sizes[SPACERS]))
    for panel, (fork, rider) in zip(panels.flat, CELLS):
        cell = {"fork": fork, "rider": rider, CLICKS: clicks}
        within = sag_fits.sel(cell).any(SPACERS)
        if within.any():
            shown = sweep[PRESSURE].where(within, drop=True)
            panel.axvspan(float(shown.min()), float(shown.max()), color="0.92", lw=0)
        for count, colour in zip(sweep[SPACERS].values, colours):
            line = quantity.sel(cell).sel({SPACERS: count})
            panel.plot(sweep[PRESSURE], line, color=colour, label=f"{count:.0f}")
        if limit is not None:
            panel.axhline(limit, color="firebrick", lw=1, ls="--")
        panel.set_title(f"{fork}, {rider}", fontsize=10)
        panel.grid(color="0.85", lw=0.5)
        panel.set_axisbelow(True)
    for panel in panels[-1]:
        panel.set_xlabel("pressure [psi]")
    for panel in panels[:, 0]:
        panel.set_ylabel(label)
    figure.suptitle(
        f"{title}; rebound {clicks:.0f} clicks from closed\n"
        f"shaded: pressures that give {SAG_TEXT}"
        + ("" if limit is None else f"; dashed: the limit, {limit:.0f} %"),
        fontsize=11,
    )
    lines, labels = panels[0, 0].get_legend_handles_labels()
    figure.legend(lines, labels, title="spacers", loc="center left", bbox_to_anchor=(1.0, 0.5))
    figure.savefig(asked.folder / name, dpi=110, bbox_inches="tight")
    plt.close(figure)


over_pressure(
    travel_use, "most travel used [%]", 100 * TRAVEL_USE_MOST, "travel-use.png",
    "Most travel used on any scene",
)  # fmt: skip
over_pressure(
    hands, "hand force, rms [N]", None, "hand-force.png",
    "Hand force about its mean, rms, as a mean over the scenes",
)  # fmt: skip

# %% (b) The setup for each fork and rider
# A setup must keep every limit on every scene. Where none does, the fork is not for the scene that
# the fewest setups get through: it is left out, and so on. Of the setups that are left the best has
# the least of hand force and tyre load variation (grip), half and half, each as a multiple of the
# scene's median over the setups whose sag fits, so that no rough scene outweighs the others.
scene_fits = (sweep.metal_contacts == 0) & (sweep.travel_use <= TRAVEL_USE_MOST)


def scenes_and_setups(cell):
    """The scenes that a fork is for, those that it is not for, and the setups within limits."""
    fits, sag = scene_fits.sel(cell), sag_fits.sel(cell)
    kept, left_out = [str(scene) for scene in sweep.scene.values], []
    while kept:
        within = fits.sel(scene=kept).all("scene") & sag
        if within.any():
            return kept, left_out, within
        worst = min(kept, key=lambda scene: int((fits.sel(scene=scene) & sag).sum()))
        kept.remove(worst)
        left_out.append(worst)
    return kept, left_out, None


def against_median(metric, cell, scenes):
    values = sweep[metric].sel(cell)
    median = values.where(sag_fits.sel(cell)).median(SETUP)
    return (values / median).sel(scene=scenes).mean("scene")


def largest(ride, metric):
    """Largest value of a metric over the scenes, and where."""
    return float(ride[metric].max()), str(ride[metric].idxmax("scene").item())


table, chosen = [], {}
for fork, rider in CELLS:
    cell = {"fork": fork, "rider": rider}
    kept, left_out, within = scenes_and_setups(cell)
    row = {"fork": fork, "rider": rider, "not_for": " ".join(left_out)}
    table.append(row)
    if within is None:
        row["not_for"] = " ".join(str(scene) for scene in sweep.scene.values)
        continue
    score = 0.5 * (
        against_median("hand_force_rms", cell, kept)
        + against_median("tyre_load_variation", cell, kept)
    )
    place = score.where(within).argmin(SETUP)
    setup = {axis: float(sweep[axis][int(place[axis])]) for axis in SETUP}
    ride = sweep.sel(cell).isel(place).sel(scene=kept)
    chosen[fork, rider] = setup, kept
    travel, travel_scene = largest(ride, "travel_max")
    hand, hand_scene = largest(ride, "hand_force_max")
    ground, ground_scene = largest(ride, "ground_force_max")
    row.update(
        spacers=f"{setup[SPACERS]:.0f}",
        pressure_psi=f"{setup[PRESSURE]:.1f}",
        rebound_clicks=f"{setup[CLICKS]:.0f}",
        setups_within_limits=int(within.sum()),
        sag_percent=f"{100 * float(ride.sag_share.mean()):.1f}",
        travel_mm=f"{1000 * travel:.2f}",
        travel_percent=f"{100 * float(ride.travel_use.max()):.1f}",
        travel_scene=travel_scene,
        hand_force_N=f"{hand:.1f}",
        hand_scene=hand_scene,
        ground_force_N=f"{ground:.1f}",
        ground_scene=ground_scene,
        at_the_end_of=" ".join(
            NAMES[axis] for axis in SETUP if setup[axis] in sweep[axis].values[[0, -1]]
        ),
    )

HEAD = list(max(table, key=len))
with open(asked.folder / "setups.csv", "w", newline="", encoding="utf-8") as file:
    writer = csv.DictWriter(file, HEAD, restval="")
    writer.writeheader()
    writer.writerows(table)

print(
    f"\nFor the rental desk: no metal contact, at most {USE_TEXT}, {SAG_TEXT};\n"
    "then the least hand force and the most even grip"
)
print(
    f"{'':26}{'spacers':>9}{'pressure':>10}{'rebound':>9}{'sag':>7}{'travel':>9}{'used':>7}"
    f"{'hands':>8}{'setups':>8}\n"
    f"{'':26}{'':>9}{'psi':>10}{'clicks':>9}{'%':>7}{'mm':>9}{'%':>7}{'N':>8}{'within':>8}"
)
for row in table:
    line = f"{row['fork']:<14}{row['rider']:<12}"
    if "spacers" in row:
        line += (
            f"{row['spacers']:>9}{float(row['pressure_psi']):>10.0f}{row['rebound_clicks']:>9}"
            f"{row['sag_percent']:>7}{float(row['travel_mm']):>9.1f}{row['travel_percent']:>7}"
            f"{float(row['hand_force_N']):>8.0f}{row['setups_within_limits']:>8}"
        )
        line += f"   not for {row['not_for']}" if row["not_for"] else ""
    elif not sag_fits.sel(fork=row["fork"], rider=row["rider"]).any():
        line += "   no setup of the plan was ridden with such a sag"
    else:
        line += "   no setup keeps the limits on even one scene"
    print(line)
print(
    "Clicks count from closed. Travel and hands: the largest over the scenes that a fork is for.\n"
    "Let all air out before you open a fork; never exceed the maker's pressure or spacer limit.\n"
    "Try each setup on easy ground first: a prediction is no safety certificate."
)
ends = [row for row in table if row.get("at_the_end_of")]
for axis in SETUP:
    names = [f"{row['fork']} {row['rider']}" for row in ends if NAMES[axis] in row["at_the_end_of"]]
    if names:
        print(f"At an end of the plan's range of {NAMES[axis]}; what lies past it was not ridden:")
        print("  " + ", ".join(names))

# %% (c) Which axis matters most for which metric
# alone: variance of the means over all other axes; in all: mean of the variance along the axis,
# with its joint effects. Both over the variance of all rides, every value of an axis as likely.
METRICS = {
    "travel_use": "travel use", "metal_contacts": "metal contacts",
    "ground_force_max": "ground force peak", "hand_force_max": "hand force peak",
    "hand_force_rms": "hand force rms", "tyre_load_variation": "tyre load variation",
    "brake_dive_max": "brake dive", "sag_share": "sag",
}  # fmt: skip


def decomposition(values):
    """Share of the variance that each axis has alone, and in all."""
    variance = float(values.var())
    alone, in_all = {}, {}
    for axis in DIMENSIONS:
        others = [d for d in DIMENSIONS if d != axis]
        alone[axis] = float(values.mean(others).var()) / variance
        in_all[axis] = float(values.var(axis).mean()) / variance
    return alone, in_all


shares = {}
for metric in METRICS:
    values = sweep[metric].dropna("scene", how="all")  # some scenes have no braking
    if values.size and not values.isnull().any() and float(values.var()) > 0.0:
        shares[metric] = decomposition(values)

print("\nShare of the variance in %: alone / in all, with joint effects")
if len(shares) < len(METRICS):
    left_out = [METRICS[metric] for metric in METRICS if metric not in shares]
    print(f"left out, as they do not vary or some rides failed: {', '.join(left_out)}")
print(f"{'':22}" + "".join(f"{SHORT[axis]:>17}" for axis in DIMENSIONS))
for metric, (alone, in_all) in shares.items():
    cells = "".join(f"{100 * alone[d]:>9.1f} /{100 * in_all[d]:>6.1f}" for d in DIMENSIONS)
    print(f"{METRICS[metric]:<22}" + cells)


def of_setup(values, axis):
    """Share of one axis of the setup in what the setup changes, within scene, fork and rider."""
    inside = values.var(SETUP).mean()
    return float(values.var(axis).mean() / inside) if float(inside) > 0.0 else np.nan


of_setups = {
    metric: {d: of_setup(sweep[metric].dropna("scene", how="all"), d) for d in SETUP}
    for metric in shares
}
print("\nThe same of what the setup changes on one scene with one fork and rider: in all")
print(f"{'':22}" + "".join(f"{SHORT[axis]:>17}" for axis in SETUP))
for metric, share in of_setups.items():
    print(f"{METRICS[metric]:<22}" + "".join(f"{100 * share[d]:>17.1f}" for d in SETUP))

if asked.report:
    with open(asked.report, encoding="utf-8") as file:
        told = json.load(file)["report"]["metrics"]
    apart = [
        abs(told[metric]["indices"][NAMES[axis]][kind]["value"] - share[axis])
        for metric, both in shares.items()
        for kind, share in zip(("first", "total"), both)
        for axis in DIMENSIONS
        if NAMES[axis] in told[metric]["indices"]
    ]
    print(f"\nplunge sweep report says the same {len(apart)} shares within {max(apart):.1e}")

if shares:
    figure, panels = plt.subplots(
        1, 3, figsize=(13, 4.6), sharey=True, constrained_layout=True,
        gridspec_kw={"width_ratios": (len(DIMENSIONS), len(DIMENSIONS), len(SETUP))},
    )  # fmt: skip
    for panel, title, axes, share in (
        (panels[0], "all rides: alone", DIMENSIONS, {m: both[0] for m, both in shares.items()}),
        (panels[1], "all rides: in all", DIMENSIONS, {m: both[1] for m, both in shares.items()}),
        (panels[2], "one scene, fork\nand rider: in all", SETUP, of_setups),
    ):
        grid = 100 * np.array([[share[metric][axis] for axis in axes] for metric in share])
        picture = panel.imshow(grid, cmap="Blues", vmin=0, vmax=100, aspect="auto")
        panel.set_xticks(range(len(axes)), [SHORT[axis] for axis in axes],
                         rotation=30, ha="right")  # fmt: skip
        panel.set_yticks(range(len(share)), [METRICS[metric] for metric in share])
        panel.set_title(title, fontsize=11)
        for (row, column), value in np.ndenumerate(grid):
            if value >= 0.5:
                panel.text(column, row, f"{value:.0f}", ha="center", va="center", fontsize=9,
                           color="white" if value > 55 else "black")  # fmt: skip
    figure.colorbar(picture, ax=panels, label="share of the variance [%]")
    figure.suptitle("What matters most for what: alone, and in all with joint effects", fontsize=12)
    figure.savefig(asked.folder / "what-matters.png", dpi=110)
    plt.close(figure)


# %% (d) What softer hands cost in travel
def front(x, y):
    """Places that no other beats in both, by rising x."""
    best, places = np.inf, []
    for place in np.lexsort((y, x)):
        if y[place] < best:
            best = y[place]
            places.append(place)
    return places


print(
    "\nTrade-off of setups whose sag fits, over the scenes that the fork is for:\n"
    "the most travel used against hand force, rms"
)
figure, panels = plt.subplots(
    1, sweep.sizes["fork"], figsize=(4.0 * sweep.sizes["fork"] + 1.0, 4.6), sharey=True,
    squeeze=False, constrained_layout=True,
)  # fmt: skip
for panel, fork in zip(panels[0], sweep.fork.values):
    left_out = set()
    for rider, colour in zip(sweep.rider.values, ("tab:blue", "tab:orange", "tab:green")):
        cell = {"fork": fork, "rider": rider}
        setup, kept = chosen.get((str(fork), str(rider)), (None, list(sweep.scene.values)))
        left_out |= {str(scene) for scene in sweep.scene.values} - {str(scene) for scene in kept}
        rides = sweep.sel(cell).sel(scene=kept)
        use = 100 * rides.travel_use.max("scene", skipna=False)
        rough = rides.hand_force_rms.mean("scene", skipna=False)
        fits = sag_fits.sel(cell) & use.notnull()
        if not fits.any():
            print(f"  {fork:<13}{rider:<8}no setup of the plan has such a sag")
            continue
        x, y = use.values[fits.values], rough.values[fits.values]
        places = front(x.round(1), y)  # a tenth of a percent more or less is no trade
        first, last = places[0], places[-1]
        print(
            f"  {fork:<13}{rider:<8}{len(places):>3} of {x.size:>4} setups, from"
            f" {x[first]:5.1f} %, {y[first]:5.1f} N to {x[last]:5.1f} %, {y[last]:5.1f} N"
        )
        panel.scatter(x, y, s=3, color=colour, alpha=0.15, lw=0, rasterized=True)
        panel.plot(x[places], y[places], color=colour, marker=".", ms=5, lw=1.2, label=str(rider))
        if setup is not None:
            panel.plot(
                float(use.sel(setup)), float(rough.sel(setup)), ls="", marker="*", ms=13,
                mfc=colour, mec="black",
            )  # fmt: skip
    panel.axvline(100 * TRAVEL_USE_MOST, color="firebrick", lw=1, ls="--")
    without = ", without " + ", ".join(sorted(left_out)) if left_out else ""
    panel.set_title(f"{fork}{without}", fontsize=11)
    panel.set_xlabel("most travel used on any scene [%]")
    panel.grid(color="0.85", lw=0.5)
    panel.set_axisbelow(True)
panels[0, 0].set_ylabel("hand force, rms, mean over the scenes [N]")
lines, labels = panels[0, -1].get_legend_handles_labels()
figure.legend(lines, labels, title="rider", loc="center left", bbox_to_anchor=(1.0, 0.5))
figure.suptitle(
    "What softer hands cost in travel: dots: setups whose sag fits; lines: the best trade-offs;\n"
    "stars: the choice for the desk; dashed: the limit on travel",
    fontsize=11,
)
figure.savefig(asked.folder / "trade-off.png", dpi=110, bbox_inches="tight")
plt.close(figure)

print(f"\nsee {asked.folder}: setups.csv, travel-use.png, hand-force.png, what-matters.png, "
      "trade-off.png")  # fmt: skip
