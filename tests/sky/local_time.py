"""local_time.py ZONES MOMENTS: moments of UTC as the clocks there show them, a line for each pair.

Both are lists with commas; moments have no letter for their zone."""
import datetime
import sys
import zoneinfo

for zone in sys.argv[1].split(","):
    for text in sys.argv[2].split(","):
        moment = datetime.datetime.fromisoformat(text).replace(tzinfo=datetime.timezone.utc)
        print(moment.astimezone(zoneinfo.ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M"))
