"""Reads result files the way an engineer would: with h5py, and with xarray on both of its netCDF-4 engines.

Usage: read_results.py RESULT...

Needs h5py, xarray, h5netcdf and netCDF4. Fails when an axis has no name, a number no unit, or two readers do not agree.
"""

import sys
import warnings

import h5py
import numpy
import xarray

ENGINES = ["h5netcdf", "netcdf4"]


def datasets(file):
    """Every data set of an HDF5 file by its path."""
    found = {}
    file.visititems(lambda path, item: found.update({path: item}) if isinstance(item, h5py.Dataset) else None)
    return found


def is_text(dataset):
    return h5py.check_string_dtype(dataset.dtype) is not None


def values(dataset):
    return dataset.asstr()[()] if is_text(dataset) else dataset[()]


def check_dataset(path, dataset):
    """Names, units and checksums of one data set."""
    assert dataset.attrs["long_name"], path
    if not is_text(dataset):
        assert dataset.attrs["units"], path
        assert dataset.shape == () or dataset.fletcher32 and dataset.shuffle and dataset.compression_opts == 4, path
    if dataset.is_scale:
        return
    for axis, dimension in enumerate(dataset.dims):
        assert len(dimension) == 1, f"{path}: {len(dimension)} scales on axis {axis}"
        assert dimension[0].shape == (dataset.shape[axis],), f"{path}: axis {axis}"


def same(left, right):
    return numpy.array_equal(left, right, equal_nan=numpy.asarray(left).dtype.kind == "f")


def check_variable(path, variable, dataset):
    """What xarray makes of a data set against what h5py reads."""
    assert not any("phony_dim" in name for name in variable.dims), f"{path}: {variable.dims}"
    assert variable.shape == dataset.shape, f"{path}: {variable.shape}"
    assert same(values(dataset), variable.values), f"{path}: values differ"
    if is_text(dataset):
        return
    assert variable.attrs["units"] == dataset.attrs["units"], path
    assert variable.dtype == dataset.dtype, f"{path}: {variable.dtype}"


def check_engine(path, engine, expected):
    """Opens the file as a tree and compares every data set; answers with how many there were."""
    with xarray.open_datatree(path, engine=engine) as tree:
        assert tree.attrs["Conventions"] == "CF-1.11"
        seen = set()
        for node in tree.subtree:
            prefix = node.path.strip("/")
            for name, variable in node.variables.items():
                key = f"{prefix}/{name}" if prefix and name != "time" else name
                check_variable(key, variable, expected[key])
                seen.add(key)
            for variable in node.data_vars.values():
                assert variable.dims[:1] in [(), ("time",)] or "time" not in variable.dims, variable.name
        assert seen == set(expected), f"{engine}: {set(expected) ^ seen}"


def check(path):
    with h5py.File(path, "r") as file:
        expected = datasets(file)
        for name, dataset in expected.items():
            check_dataset(name, dataset)
        assert file["rows_valid"][()] == len(file["time"])
        for engine in ENGINES:
            check_engine(path, engine, expected)
        groups = [item for item in file.values() if isinstance(item, h5py.Group)]
        assert all(group.attrs["kind"] for group in groups)
        print(f"{path}: {len(groups)} groups, {len(expected)} data sets, {len(file['time'])} rows, read alike by", end=" ")
        print(", ".join(["h5py"] + ENGINES))


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    # A reader that makes up a dimension says so in a warning.
    warnings.simplefilter("error")
    for result in sys.argv[1:]:
        check(result)
