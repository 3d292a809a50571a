"""Writes a PNG of zeros: large_png.py OUT WIDTH HEIGHT. The form of the file: PNG 1.2, W3C 2003."""

import struct
import sys
import zlib


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


name, width, height = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
packer = zlib.compressobj(1)
row = bytes(1 + width)
packed = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
with open(name, "wb") as file:
    file.write(b"\x89PNG\r\n\x1a\n")
    file.write(chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)))
    file.write(chunk(b"IDAT", packed) + chunk(b"IEND", b""))
