// Reads a calendar with the library ical.js and prints what stands in it.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
const [module, file] = process.argv.slice(2);
const entry = createRequire(pathToFileURL(process.cwd() + "/")).resolve(module);
const loaded = await import(pathToFileURL(entry));
const ICAL = loaded.default ?? loaded;
const cal = new ICAL.Component(ICAL.parse(readFileSync(file, "utf8")));
const when = (t) => (t.isDate ? t.toString() : t.toJSDate().toISOString().replace(".000Z", "Z"));
const events = cal.getAllSubcomponents("vevent").map((c) => {
  const e = new ICAL.Event(c);
  return {
    UID: e.uid, Summary: e.summary, Description: e.description ?? "", Location: e.location ?? "",
    Status: c.getFirstPropertyValue("status"), Sequence: e.sequence, AllDay: e.startDate.isDate,
    Start: when(e.startDate), End: when(e.endDate), Attendee: c.getFirstPropertyValue("attendee") ?? "",
  };
});
console.log(JSON.stringify({ Method: cal.getFirstPropertyValue("method"), Events: events }));
