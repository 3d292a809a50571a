"""Reads and writes pictures with libraries that share no code with Lull's own readers and writers.

read  cv2|tifffile|astropy FILE RAW        samples to RAW (native order, interleaved), prints the shape
write KIND FILE RAW                        a file of that kind from seeded samples, samples to RAW
tag   FILE NAME                            a TIFF tag as tifffile reads it
card  FILE KEY                             a FITS card as astropy reads it
parts FILE RAW                             extensions of a FITS file, their samples and columns to RAW as doubles
csv   FILE                                 records of a CSV file as JSON
"""
import csv
import json
import sys
import warnings

import numpy as np


def to_rows(data):
    """Channel planes (3, H, W) to interleaved (H, W, 3)."""
    return np.moveaxis(data, 0, -1) if data.ndim == 3 and data.shape[0] == 3 else data


def read(reader, path):
    if reader == "cv2":
        import cv2
        data = cv2.imread(path, cv2.IMREAD_UNCHANGED)
        return data[..., ::-1] if data.ndim == 3 else data
    if reader == "tifffile":
        import tifffile
        return tifffile.imread(path)
    from astropy.io import fits
    with fits.open(path, checksum=True) as units:
        return to_rows(np.array(units[0].data))


def seeded(shape, dtype):
    values = np.random.default_rng(20260305).random(shape)
    if np.dtype(dtype).kind == "f":
        return values.astype(dtype)
    return (values * (np.iinfo(dtype).max + 1)).astype(dtype)


def write_tiff(kind, path):
    import tifffile
    if kind == "tiff-grey8":
        data = seeded((37, 53), np.uint8)
        tifffile.imwrite(path, data, photometric="minisblack")
    elif kind == "tiff-bigendian-rgb16":
        data = seeded((37, 53, 3), np.uint16)
        tifffile.imwrite(path, data, photometric="rgb", byteorder=">")
    elif kind == "tiff-rgba16":
        data = seeded((37, 53, 4), np.uint16)
        tifffile.imwrite(path, data, photometric="rgb", extrasamples=["unassalpha"])
        data = data[..., :3]
    elif kind == "tiff-planar-rgb16":
        data = seeded((3, 37, 53), np.uint16)
        tifffile.imwrite(path, data, photometric="rgb", planarconfig="separate")
        data = to_rows(data)
    elif kind == "tiff-float":
        data = seeded((37, 53), np.float32)
        tifffile.imwrite(path, data, photometric="minisblack", rowsperstrip=5)
    elif kind == "tiff-whiteiszero8":
        data = seeded((37, 53), np.uint8)
        tifffile.imwrite(path, data, photometric="miniswhite")
        data = 255 - data
    elif kind == "tiff-nan":
        data = seeded((37, 53), np.float32)
        data[5, 7] = np.nan
        data[6, 1] = np.inf
        tifffile.imwrite(path, data, photometric="minisblack")
    elif kind == "tiff-int32":
        data = seeded((37, 53), np.int32)
        tifffile.imwrite(path, data, photometric="minisblack")
    elif kind == "tiff-tiled":
        data = seeded((37, 53), np.uint16)
        tifffile.imwrite(path, data, photometric="minisblack", tile=(16, 32))
    elif kind == "tiff-tiled-big-rgb8":
        data = seeded((37, 53, 3), np.uint8)
        tifffile.imwrite(path, data, photometric="rgb", tile=(32, 16), bigtiff=True, compression="deflate")
    elif kind == "tiff-tiled-planar-rgb16":
        data = seeded((3, 37, 53), np.uint16)
        tifffile.imwrite(path, data, photometric="rgb", planarconfig="separate", tile=(16, 16))
        data = to_rows(data)
    elif kind == "tiff-large-tiles":
        data = seeded((64, 64), np.uint16)
        tifffile.imwrite(path, data, photometric="minisblack", tile=(16, 8192))
    else:
        raise SystemExit("unknown kind " + kind)
    return data


def write_png(kind, path):
    import cv2

    def write(pixels):
        # imwrite() chooses the format by the name's ending.
        with open(path, "wb") as file:
            file.write(cv2.imencode(".png", pixels)[1].tobytes())

    depth = np.uint8 if kind.endswith("8") else np.uint16
    if "rgba" in kind:
        data = seeded((37, 53, 4), depth)
        write(data[..., [2, 1, 0, 3]])
        return data[..., :3]
    if "rgb" in kind:
        data = seeded((37, 53, 3), depth)
        write(data[..., ::-1])
        return data
    data = seeded((37, 53), depth)
    write(data)
    return data


def write_fits(kind, path):
    from astropy.io import fits
    if kind == "fits-second-unit":
        data = seeded((37, 53), np.float32)
        table = fits.BinTableHDU.from_columns([fits.Column("t", "E", array=[1.0, 2.0])])
        fits.HDUList([fits.PrimaryHDU(), table, fits.ImageHDU(data), fits.ImageHDU(data * 2)]).writeto(path)
        return data
    if kind == "fits-cube5":
        data = seeded((5, 37, 53), np.float32)
    elif kind == "fits-rgb-double":
        data = seeded((3, 37, 53), np.float64)
    elif kind == "fits-u16":
        data = seeded((37, 53), np.uint16)
    elif kind == "fits-i16":
        data = seeded((37, 53), np.int16)
    elif kind == "fits-u8":
        data = seeded((37, 53), np.uint8)
    elif kind == "fits-i32":
        data = seeded((37, 53), np.int32)
    elif kind == "fits-empty":
        fits.PrimaryHDU().writeto(path)
        return np.zeros(1, np.float32)
    else:
        raise SystemExit("unknown kind " + kind)
    fits.PrimaryHDU(data).writeto(path)
    return to_rows(data).astype(np.float32) if data.dtype == np.float64 else to_rows(data)


def main(verb, *arguments):
    warnings.simplefilter("error")
    if verb == "read":
        reader, path, raw = arguments
        data = read(reader, path)
        np.ascontiguousarray(data).astype(data.dtype.newbyteorder("=")).tofile(raw)
        print(*data.shape, data.dtype.newbyteorder("=").name)
    elif verb == "write":
        kind, path, raw = arguments
        writer = {"tiff": write_tiff, "png": write_png, "fits": write_fits}[kind.split("-")[0]]
        np.ascontiguousarray(writer(kind, path)).tofile(raw)
    elif verb == "tag":
        import tifffile
        with tifffile.TiffFile(arguments[0]) as tiff:
            print(tiff.pages[0].tags[arguments[1]].value)
    elif verb == "card":
        from astropy.io import fits
        header = fits.getheader(arguments[0])
        value = header[arguments[1]]
        print(str(value))
    elif verb == "parts":
        from astropy.io import fits
        values = []
        with fits.open(arguments[0], checksum=True) as units:
            for unit in units[1:]:
                columns = list(unit.columns.names) if isinstance(unit, fits.BinTableHDU) else []
                print(unit.name, *(columns or unit.data.shape))
                values += [unit.data[c].astype(float) for c in columns] or [unit.data.astype(float).ravel()]
        np.concatenate(values).tofile(arguments[1])
    elif verb == "csv":
        with open(arguments[0], newline="") as file:
            print(json.dumps(list(csv.reader(file, strict=True))))


main(*sys.argv[1:])
