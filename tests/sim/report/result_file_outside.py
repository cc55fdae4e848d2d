"""Opens a ride file with h5py and xarray and checks the labels of tests/result_file_test.cpp."""

import sys

try:
    import h5py
    import xarray
except ImportError as missing:
    print("skipped:", missing)
    sys.exit(0)

path = sys.argv[1]


def check(found, expected):
    if found != expected:
        sys.exit(f"found {found!r} in place of {expected!r}")


with h5py.File(path) as file:
    check(file.attrs["Conventions"], b"CF-1.8")
    check(file.attrs["file_type"], b"plunge ride")
    check(list(file.attrs["format_version"]), [4, 1])
    check(file["travel"].attrs["units"], b"m")
    check(file["travel"].dims[0][0].name, "/ride")
    check(file["travel"].dims[1][0].name, "/time")
    check(file["energy/damper"].dims[0][0].name, "/ride")
    check(file["scene_text"].asstr()[0], '[fork]\nname = "teasel 150"\n')
    check(h5py.h5ds.is_scale(file["time"].id), True)

engines = [name for name in ("h5netcdf", "netcdf4") if name in xarray.backends.list_engines()]
if not engines:
    print("skipped: xarray has neither h5netcdf nor netcdf4")
    sys.exit(0)
for engine in engines:
    with xarray.open_dataset(path, engine=engine) as data:
        check(dict(data.sizes), {"ride": 2, "time": 6})
        check(data["travel"].dims, ("ride", "time"))
        check(data["travel"].attrs["units"], "m")
        check(data["travel"].attrs["long_name"], "fork travel, 0 at full extension")
        check(data["time"].attrs["units"], "s")
        check("axis" in data["time"].attrs, False)
        check(set(data["travel"].coords), {"ride", "time", "label", "fork_spacers", "fork_pressure"})
        check([str(label) for label in data["label"].values], ["0 spacers", '2 spacers, "naïve" µ'])
        check(list(data["fork_spacers"].values), [0.0, 2.0])
        check(data["fork_spacers"].attrs["parameter"], "fork.spacers")
        check(list(data.data_vars)[:3], ["travel", "ground_force", "travel_max"])
        check(data["travel_max"].dims, ("ride",))
        check(int(data["travel"].isnull().sum()), 2)
        two = data.swap_dims(ride="fork_spacers").sel(fork_spacers=2.0)
        check(float(two["metal_contacts"]), 1.0)
    with xarray.open_dataset(path, engine=engine, group="parameters") as data:
        check(data["fork_air_main_volume"].dims, ("ride",))
        check(data["fork_air_main_volume"].attrs["units"], "m3")
        check([str(word) for word in data["fork_spring"].values], ["air", "air"])
    with xarray.open_dataset(path, engine=engine, group="parameters/event") as data:
        check(data["rate"].dims, ("ride", "row"))
        check(data["rate"].attrs["units"], "m s-2")
        check(float(data["rate"].sel(ride=1, row=0)), 4.5)
        check(int(data["rate"].isnull().sum()), 2)
        check([str(word) for word in data["kind"].sel(ride=1).values], ["brake", "corner"])
        check([str(word) for word in data["kind"].sel(ride=0).values], ["brake", ""])
    with xarray.open_dataset(path, engine=engine, group="located") as data:
        check(data["instant"].dims, ("event",))
        check(data["distance"].attrs["units"], "m")
        check([str(word) for word in data["what"].values], ["lift_off", "touch_down"] * 2)
print("as labelled")
