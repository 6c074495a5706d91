"""Reads the table of a study the way an engineer would: as a pandas frame through xarray, and through h5py, beside the program's own CSV.

Usage: read_study.py TABLE.h5 TABLE.csv

Needs pandas, h5py, xarray, h5netcdf and netCDF4. Fails when a column has no unit, or two readers do not agree.
"""

import sys
import warnings

import h5py
import numpy
import pandas
import xarray


def same(left, right):
    """Whether a column holds the same values as that of a CSV file, whose texts are read to the last bit; an empty one is no number."""
    if pandas.api.types.is_numeric_dtype(left):
        numbers = [float(text) if text else numpy.nan for text in right]
        return numpy.array_equal(left.to_numpy(float), numbers, equal_nan=True)
    return list(left.fillna("")) == list(right)


def check(table, csv):
    expected = pandas.read_csv(csv, index_col="run", dtype=str, keep_default_na=False)
    for engine in ["h5netcdf", "netcdf4"]:
        with xarray.open_dataset(table, engine=engine) as study:
            assert list(study.dims) == ["run"], study.dims
            assert study.attrs["Conventions"] == "CF-1.11" and study.attrs["study"]
            frame = study.to_dataframe()
        assert set(frame.columns) == set(expected.columns), set(frame.columns) ^ set(expected.columns)
        for name in expected.columns:
            assert same(frame[name], expected[name]), f"{engine}: {name}"
    with h5py.File(table, "r") as file:
        for name, column in file.items():
            assert column.attrs["long_name"], name
            text = h5py.check_string_dtype(column.dtype) is not None
            assert text or (column.attrs["units"] and column.fletcher32), name
            assert text or name == "run" or same(pandas.Series(column[()]), expected[name].reset_index(drop=True)), name
    best = frame[frame.status == 0].groupby("layout").recovery.max()
    print(f"{table}: {len(expected)} runs of {len(expected.columns)} columns, read alike; best recovery by layout:")
    print(best.to_string())


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    warnings.simplefilter("error")
    check(*sys.argv[1:])
