# Reads a calendar with the library icalendar and prints what stands in it.
import datetime, json, sys
import icalendar

with open(sys.argv[1], "rb") as f:
    cal = icalendar.Calendar.from_ical(f.read())

def when(p):
    v = p.dt
    if isinstance(v, datetime.datetime):
        return v.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")
    return v.isoformat()

events = []
for e in cal.walk("VEVENT"):
    assert not e.errors, e.errors
    events.append({
        "UID": str(e["UID"]), "Summary": str(e["SUMMARY"]), "Description": str(e.get("DESCRIPTION", "")),
        "Location": str(e.get("LOCATION", "")), "Status": str(e["STATUS"]), "Sequence": int(e["SEQUENCE"]),
        "Start": when(e["DTSTART"]), "End": when(e["DTEND"]),
        "AllDay": not isinstance(e["DTSTART"].dt, datetime.datetime),
        "Attendee": str(e.get("ATTENDEE", "")),
    })
print(json.dumps({"Method": str(cal["METHOD"]), "Events": events}))
