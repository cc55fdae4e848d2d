"""Opens a merged sweep with xarray and checks the labels of tests/merge_test.cpp."""

import sys

try:
    import xarray
except ImportError as missing:
    print("skipped:", missing)
    sys.exit(0)

path = sys.argv[1]


def check(found, expected):
    if found != expected:
        sys.exit(f"found {found!r} in place of {expected!r}")


engines = [name for name in ("h5netcdf", "netcdf4") if name in xarray.backends.list_engines()]
if not engines:
    print("skipped: xarray has neither h5netcdf nor netcdf4")
    sys.exit(0)
for engine in engines:
    with xarray.open_dataset(path, engine=engine) as data:
        dimensions = ("scene", "rider", "fork_spacers", "point")
        check(data["travel_max"].dims, dimensions)
        check(data["travel"].dims, (*dimensions, "sample_time"))
        check(data["travel_max"].shape, (1, 2, 3, 8))
        check(data["travel_max"].attrs["units"], "m")
        check(data["fork_spacers"].attrs["units"], "1")
        check(list(data["rider"].values), [0, 1])
        check([str(label) for label in data["rider_label"].values], ["alder", "wren"])
        check([str(label) for label in data["scene_label"].values], ["drop-to-flat"])
        check(set(data["travel_max"].coords) - set(dimensions),
              {"scene_label", "rider_label", "fork_pressure", "ride_speed", "base_row", "matrix"})
        check(data["fork_pressure"].dims, ("point",))
        check(data["fork_pressure"].attrs["units"], "Pa")
        # Ride 29 = rider 1, spacers 0, row 5.
        named = data.swap_dims(scene="scene_label", rider="rider_label")
        one = named.sel(rider_label="wren", fork_spacers=0.0, point=5).isel(scene_label=0)
        check(float(one["travel_max"]), 0.029)
        check(float(one["travel"][7]), 29.0)
        check(int(data["travel_max"].isnull().sum()), 9)  # 3, 8, ... 43
        check(int((data["origin"] == 2).sum()), 9)
        check(str(data["reasons"].values[1]), "at 3 s: the made-up fork broke")
        means = data["travel_max"].mean("point").to_series()
        check(means.index.names, ["scene", "rider", "fork_spacers"])
print("as labelled")
