// What waits on this phone: one database, the same for pages and for the worker,
// which gets this file without the word that opens each of its lines to others.

export const open = () => new Promise((done, fail) => {
  const r = indexedDB.open('plotwarden', 1);
  r.onupgradeneeded = () => r.result.createObjectStore('queue', { keyPath: 'id' });
  r.onsuccess = () => done(r.result);
  r.onerror = () => fail(r.error);
});

// within runs one piece of work on the store and ends when it is written.
export const within = async (mode, work) => {
  const db = await open();
  try {
    return await new Promise((done, fail) => {
      const tx = db.transaction('queue', mode, { durability: 'strict' });
      const r = work(tx.objectStore('queue'));
      tx.oncomplete = () => done(r.result);
      tx.onerror = tx.onabort = () => fail(tx.error);
    });
  } finally {
    db.close();
  }
};

export const put = (entry) => within('readwrite', (s) => s.put(entry));
export const remove = (id) => within('readwrite', (s) => s.delete(id));
export const all = async () => (await within('readonly', (s) => s.getAll())).sort((a, b) => (a.entered < b.entered ? -1 : 1));

// entryOf turns a form's data into an entry. Files stay files.
export const entryOf = (site, kind, data) => {
  const fields = {}, photos = [];
  for (const [name, value] of data) {
    if (typeof value !== 'string') {
      if (value.size) photos.push(value);
    } else if (name !== 'check') {
      (fields[name] ||= []).push(value);
    }
  }
  return { id: fields.id[0], site, kind, person: (fields.person || [''])[0], entered: new Date().toISOString().slice(0, 19) + 'Z', fields, photos, state: 'waiting' };
};
