// Reads calendars (a JSON list of texts) with the reference library and prints
// what it found in each, as JSON.
// The strict rules on top are those that the library does not check by itself.
const ICAL = require('ical.js');
const inputs = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const fail = (s) => { process.stderr.write(s + '\n'); process.exit(1); };
ICAL.design.strict = true;

function read(input) {
  if (!input.endsWith('\r\n')) fail('the last line has no CR LF');
  for (const l of input.slice(0, -2).split('\r\n')) {
    if (/[\r\n]/.test(l)) fail('a line break without CR LF: ' + JSON.stringify(l));
    if (Buffer.byteLength(l, 'utf8') > 75) fail('longer than 75 octets: ' + l);
  }
  const jcal = ICAL.parse(input);
  const root = new ICAL.Component(jcal);
  if (root.name !== 'vcalendar') fail('no VCALENDAR: ' + root.name);
  const text = (c, n) => { const v = c.getFirstPropertyValue(n); return v === null ? null : v.toString(); };
  const out = {
    version: text(root, 'version'), prodid: text(root, 'prodid'), method: text(root, 'method'),
    name: text(root, 'name'), xname: text(root, 'x-wr-calname'), description: text(root, 'description'), refresh: text(root, 'refresh-interval'), events: [],
  };
  for (const c of root.getAllSubcomponents()) {
    if (c.name !== 'vevent') fail('not an event: ' + c.name);
    for (const once of ['uid', 'dtstamp', 'dtstart', 'dtend', 'sequence', 'summary', 'status', 'transp', 'location', 'last-modified']) {
      if (c.getAllProperties(once).length !== 1) fail(once + ' stands ' + c.getAllProperties(once).length + ' times');
    }
    const e = new ICAL.Event(c);
    const alarms = c.getAllSubcomponents('valarm').map((a) => {
      for (const once of ['action', 'trigger', 'description']) if (a.getAllProperties(once).length !== 1) fail('alarm: ' + once);
      return { action: text(a, 'action'), seconds: a.getFirstPropertyValue('trigger').toSeconds(), description: text(a, 'description') };
    });
    out.events.push({
      uid: e.uid, sequence: e.sequence, stamp: c.getFirstPropertyValue('dtstamp').toJSDate().toISOString(),
      allDay: e.startDate.isDate, zone: e.startDate.zone.tzid,
      start: e.startDate.isDate ? e.startDate.toString() : e.startDate.toJSDate().toISOString(),
      end: e.endDate.isDate ? e.endDate.toString() : e.endDate.toJSDate().toISOString(),
      summary: e.summary, description: e.description, location: e.location, url: text(c, 'url'), status: text(c, 'status'), transp: text(c, 'transp'), alarms,
    });
  }
  return out;
}
process.stdout.write(JSON.stringify(inputs.map(read)));
