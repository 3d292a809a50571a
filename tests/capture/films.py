"""What other programs read of a film: PIL for GIF and PNG, ffprobe and ffmpeg for the others.

    films.py pil FILM          JSON: pictures, size, durations (ms), loop (as the file counts), mode
    films.py pixels FILM OUT   all pictures as RGB bytes, by PIL
"""
import json
import sys

from PIL import Image, ImageSequence

work, path = sys.argv[1:3]
film = Image.open(path)
if work == "pil":
    durations = []
    for picture in ImageSequence.Iterator(film):
        durations.append(picture.info.get("duration"))
    print(json.dumps({
        "pictures": film.n_frames, "size": film.size, "durations": durations,
        "loop": film.info.get("loop"), "format": film.format}))
else:
    with open(sys.argv[3], "wb") as out:
        for picture in ImageSequence.Iterator(film):
            out.write(picture.convert("RGB").tobytes())
