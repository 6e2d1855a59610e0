// Decrypts what a push service received, as the browser with the private key
// would.
const ece = require('http_ece');
const crypto = require('crypto');
const m = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const key = crypto.createECDH('prime256v1');
key.setPrivateKey(Buffer.from(m.private, 'base64url'));
process.stdout.write(ece.decrypt(Buffer.from(m.body, 'base64'), { version: 'aes128gcm', privateKey: key, authSecret: m.auth }));
