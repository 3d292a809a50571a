"""Writes FITS files into a folder: good_* by astropy, bad_* with a header that breaks the standard or a limit.

bad_* files are made from cards, since no library writes them: FITS Standard 4.0, sections 3 and 4. Prints the
names of all files, one a line.
"""
import sys
import warnings

import numpy as np
from astropy.io import fits

warnings.simplefilter("ignore")
folder = sys.argv[1]
names = []


def path_of(name):
    names.append(name)
    return f"{folder}/{name}.fits"


image = np.arange(5 * 24 * 20, dtype=np.uint16).reshape(5, 24, 20)
table = fits.BinTableHDU.from_columns([fits.Column("A", "D", array=np.arange(3.0)),
                                       fits.Column("NAME", "8A", array=["x", "y", "z"])])
lists = fits.BinTableHDU.from_columns(
    [fits.Column("A", "PJ()", array=np.array([[1, 2], [3]], dtype=object))])
letters = fits.TableHDU.from_columns([fits.Column("A", "F8.3", array=np.arange(3.0))])
many = fits.Header()
many["HIERARCH a long name"] = 3
many["LONGTEXT"] = "o" * 300
for i in range(500):
    many["HISTORY"] = f"line {i}: NAXIS   = 110"
fits.PrimaryHDU(image[0], many).writeto(path_of("good_many_cards"))
fits.PrimaryHDU(image[0], fits.Header({"OBSERVER": "x"})).writeto(path_of("good_checksum"), checksum=True)
for name, units in {
    "good_cube": [fits.PrimaryHDU(image)],
    "good_f64": [fits.PrimaryHDU(image[0].astype(np.float64))],
    "good_colours": [fits.PrimaryHDU(np.stack([image, image, image], axis=1))],
    "good_extension": [fits.PrimaryHDU(), fits.ImageHDU(image[0], name="MORE")],
    "good_tables": [fits.PrimaryHDU(image[0]), table, lists, letters, fits.ImageHDU(image[0])],
}.items():
    fits.HDUList(units).writeto(path_of(name))
whole = open(f"{folder}/good_tables.fits", "rb").read()
open(path_of("good_rest"), "wb").write(whole + b"left over".ljust(2880))
cube = open(f"{folder}/good_cube.fits", "rb").read()
open(path_of("good_cut_data"), "wb").write(cube[:2880 + 2000])


def card(name, value, comment="x"):
    return f"{name:<8}= {value:>20} / {comment}".ljust(80)


def block(cards, end="END"):
    text = "".join(one.ljust(80) for one in [*cards, end])
    return text.ljust(-(-len(text) // 2880) * 2880).encode("latin-1")


def primary(naxis=2, sides=(20, 24), bitpix=16, more=()):
    return [card("SIMPLE", "T"), card("BITPIX", bitpix), card("NAXIS", naxis),
            *(card(f"NAXIS{i + 1}", side) for i, side in enumerate(sides)), *more]


def extension(kind="IMAGE", naxis=2, sides=(20, 24), bitpix=16, more=None):
    more = [card("PCOUNT", 0), card("GCOUNT", 1)] if more is None else more
    return ["XTENSION= " + f"'{kind:<8}'".ljust(20), card("BITPIX", bitpix), card("NAXIS", naxis),
            *(card(f"NAXIS{i + 1}", side) for i, side in enumerate(sides)), *more]


def bad(name, cards, end="END"):
    """As the first header; and as an extension where the cards begin with XTENSION."""
    data = bytes(200_000)
    start = b"" if cards[0].startswith("SIMPLE") else cube + bytes(-len(cube) % 2880)
    open(path_of(f"bad_{name}"), "wb").write(start + block(cards, end) + data)


for axes in (5, 110, 999, 1000, 2**31 + 2):
    sides = [1] * min(axes, 999)
    bad(f"naxis_{axes}", primary(axes, sides))
    bad(f"extension_naxis_{axes}", extension(naxis=axes, sides=sides))
    bad(f"dump_naxis_{axes}", extension("DUMP", axes, sides))
bad("product", primary(4, [2**31, 2**31, 2**31, 2**31]))
bad("huge_side", primary(2, [2**62, 1]))
bad("beyond_64_bits", primary(2, [2**70, 1]))
bad("negative", primary(2, [-20, 24]))
bad("negative_axes", primary(-1, []))
bad("bitpix", primary(bitpix=12))
bad("bitpix_text", primary(bitpix="'16'"))
bad("decimal", primary(naxis="2.0"))
bad("missing_axis", primary(3, [20, 24]))
bad("twice", primary(more=[card("NAXIS", 110)]))
bad("twice_pcount", extension(more=[card("PCOUNT", 0), card("GCOUNT", 1), card("PCOUNT", 2**40)]))
bad("hierarch", extension(more=["HIERARCH PCOUNT = 1099511627776", card("GCOUNT", 1)]))
bad("order", [card("SIMPLE", "T"), card("NAXIS", 2), card("BITPIX", 16), card("NAXIS1", 20),
              card("NAXIS2", 24)])
bad("simple", [card("SIMPLE", "X"), *primary()[1:]])
bad("groups", primary(2, [0, 24], more=[card("GROUPS", "T"), card("PCOUNT", 5), card("GCOUNT", 2**40)]))
bad("pcount", extension(more=[card("PCOUNT", -1), card("GCOUNT", 1)]))
bad("gcount", extension(more=[card("PCOUNT", 0), card("GCOUNT", 2**40)]))
fields = [card("PCOUNT", 0), card("GCOUNT", 1)]
bad("fields", extension("BINTABLE", bitpix=8, more=[*fields, card("TFIELDS", 10**8)]))
bad("no_fields", extension("BINTABLE", bitpix=8, more=fields))
bad("table_axes", extension("BINTABLE", 3, (20, 24, 2), bitpix=8, more=[*fields, card("TFIELDS", 0)]))
bad("table_bits", extension("TABLE", more=[*fields, card("TFIELDS", 0)]))
bad("heap", extension("BINTABLE", bitpix=8,
                      more=[*fields, card("TFIELDS", 0), card("THEAP", 2**40)]))
bad("end_with_value", primary(), "END     = 5")
bad("zero_byte", primary(more=["OBJECT\0 = 'x'"]))
bad("no_end", primary(more=["HISTORY"] * 40000), "HISTORY")
bad("long", primary(more=["HISTORY"] * 40000))
open(path_of("bad_cut_header"), "wb").write(block(primary())[:2000])
open(path_of("bad_cut_extension"), "wb").write(cube + block(extension())[:2000])
open(path_of("bad_many_units"), "wb").write(
    block(primary(0, [])) + block(extension(naxis=0, sides=[])) * 1200)
for kind in ("RICE_1", "GZIP_1", "GZIP_2", "HCOMPRESS_1", "PLIO_1"):
    data = image[0].astype(np.int16)
    fits.HDUList([fits.PrimaryHDU(), fits.CompImageHDU(data, compression_type=kind)]).writeto(
        path_of(f"bad_compressed_{kind}"))
print("\n".join(names))
