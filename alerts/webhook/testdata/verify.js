// Verifies a request as a receiver would, with the reference library, and tries
// three that it must refuse.
const { Webhook } = require('standardwebhooks');
const m = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const refused = [];
const attempt = (name, secret, body, headers) => {
  try { new Webhook(secret).verify(body, headers); } catch (e) { refused.push(name); }
};
const payload = new Webhook(m.secret).verify(m.body, m.headers);
attempt('body', m.secret, m.body.replace('Ada', 'Bob'), m.headers);
attempt('id', m.secret, m.body, { ...m.headers, 'webhook-id': 'msg_other' });
attempt('secret', 'whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw', m.body, m.headers);
process.stdout.write(JSON.stringify({ subject: payload.data.subject, refused }));
