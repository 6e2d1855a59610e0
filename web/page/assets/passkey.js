// Passkeys: adds one to an account, signs in with one. Without this script the
// password does.

const text = (id) => document.getElementById(id);

function toBytes(s) {
  const bin = atob(s.replace(/-/g, '+').replace(/_/g, '/'));
  return Uint8Array.from(bin, (c) => c.charCodeAt(0));
}

function fromBytes(buffer) {
  let bin = '';
  for (const b of new Uint8Array(buffer)) bin += String.fromCharCode(b);
  return btoa(bin).replace(/\+/g, '-').replace(/\//g, '_').replace(/=+$/, '');
}

// The options as the browser wants them: bytes where the server wrote base64url.
function options(o) {
  const out = { ...o, challenge: toBytes(o.challenge) };
  if (o.user) out.user = { ...o.user, id: toBytes(o.user.id) };
  const ids = (list) => (list || []).map((c) => ({ ...c, id: toBytes(c.id) }));
  if (o.excludeCredentials) out.excludeCredentials = ids(o.excludeCredentials);
  if (o.allowCredentials) out.allowCredentials = ids(o.allowCredentials);
  return out;
}

// What the browser gave, as the server reads it.
function plain(c) {
  const r = c.response;
  const response = { clientDataJSON: fromBytes(r.clientDataJSON) };
  for (const part of ['attestationObject', 'authenticatorData', 'signature', 'userHandle']) {
    if (r[part]) response[part] = fromBytes(r[part]);
  }
  if (r.getTransports) response.transports = r.getTransports();
  return {
    id: c.id, rawId: fromBytes(c.rawId), type: c.type, response,
    clientExtensionResults: c.getClientExtensionResults(), authenticatorAttachment: c.authenticatorAttachment || undefined,
  };
}

async function ask(path, body) {
  const check = document.querySelector('meta[name="check"]');
  const headers = { 'Content-Type': 'application/json' };
  if (check) headers['X-Check'] = check.content;
  const answer = await fetch(path, { method: 'POST', headers, body: JSON.stringify(body), credentials: 'same-origin' });
  if (!(answer.headers.get('Content-Type') || '').startsWith('application/json')) throw new Error('server');
  const found = await answer.json();
  if (!answer.ok) throw Object.assign(new Error('server'), { fault: found.fault });
  return found;
}

// run does one ceremony behind a button and says what went wrong beside it.
function run(button, fault, ceremony) {
  if (!button || !window.PublicKeyCredential) return;
  button.closest('[hidden]')?.removeAttribute('hidden');
  button.addEventListener('click', async (e) => {
    e.preventDefault();
    fault.textContent = '';
    fault.hidden = true;
    button.disabled = true;
    try {
      location.assign((await ceremony()).to);
    } catch (error) {
      fault.textContent = error.fault || fault.dataset.text;
      fault.hidden = false;
      button.disabled = false;
      button.focus();
    }
  });
}

run(text('passkey-in'), text('passkey-fault'), async () => {
  const o = await ask('/sign-in/passkey/begin', {});
  const credential = await navigator.credentials.get({ publicKey: options(o.options) });
  return ask('/sign-in/passkey', { ceremony: o.ceremony, credential: plain(credential), to: text('to').value });
});

run(text('passkey-add'), text('passkey-fault'), async () => {
  const o = await ask('/account/passkeys/begin', {});
  const credential = await navigator.credentials.create({ publicKey: options(o.options) });
  return ask('/account/passkeys', { ceremony: o.ceremony, credential: plain(credential), name: text('passkey-name').value });
});
