// A short message center over npm smpp, for the tests. See README.md.
'use strict';
const smpp = require('smpp');
const say = (o) => process.stdout.write(JSON.stringify(o) + '\n');

let count = 0;
const server = smpp.createServer((session) => {
  session.on('error', () => {});
  session.on('bind_transceiver', (pdu) => {
    const ok = pdu.password === 'secret';
    say({ event: 'bind', system_id: pdu.system_id, version: pdu.interface_version, ok });
    session.send(pdu.response({ command_status: ok ? 0 : smpp.ESME_RINVPASWD, system_id: 'npmcenter' }));
  });
  session.on('enquire_link', (pdu) => session.send(pdu.response()));
  session.on('unbind', (pdu) => { session.send(pdu.response()); say({ event: 'unbind' }); });
  session.on('query_sm', (pdu) => session.send(pdu.response({
    message_id: pdu.message_id, final_date: '', message_state: 2, error_code: 0 })));
  session.on('submit_sm', (pdu) => {
    const odd = /^1212555019(..)$/.exec(pdu.destination_addr); // 1212555019XX is answered 0xXX
    if (odd) {
      session.send(pdu.response({ command_status: parseInt(odd[1], 16) }));
      return;
    }
    const id = (0x5A0000 + ++count).toString(16);
    const m = pdu.short_message;
    say({ event: 'submit', id, to: pdu.destination_addr, ton: pdu.dest_addr_ton, from: pdu.source_addr,
      coding: pdu.data_coding, esm: pdu.esm_class, text: m.message.toString(),
      udh: m.udh ? m.udh.map((e) => e.toString('hex')) : [], registered: pdu.registered_delivery,
      validity: pdu.validity_period, reference: pdu.user_message_reference });
    session.send(pdu.response({ message_id: id }));
    if (pdu.registered_delivery) receipt(session, pdu, id);
    if (m.message.toString() === 'PLEASE WRITE') write(session, pdu);
  });
});

function receipt(session, pdu, id) {
  const fields = { source_addr: pdu.destination_addr, source_addr_ton: 1, source_addr_npi: 1,
    destination_addr: pdu.source_addr, esm_class: smpp.ESM_CLASS.MC_DELIVERY_RECEIPT,
    short_message: 'id:' + parseInt(id, 16) + ' sub:001 dlvrd:001 stat:DELIVRD err:000 text:' };
  if (pdu.destination_addr !== '12125550188') { // that number's receipts have no parameters
    fields.receipted_message_id = id;
    fields.message_state = 2;
  }
  setTimeout(() => deliver(session, fields), 20);
}

function write(session, pdu) {
  const base = { source_addr: '12125550123', source_addr_ton: 1, source_addr_npi: 1, destination_addr: pdu.source_addr };
  deliver(session, { ...base, data_coding: 0, short_message: Buffer.from('1B6520367B', 'hex') }); // "€ 6ä"
  deliver(session, { ...base, short_message: 'año 6120 mi @ {ok}' }); // npm's own choice of coding
  deliver(session, { ...base, short_message: 'Готово 👍' });
  ['back at the ', 'lower field'].forEach((text, i) => deliver(session, { ...base,
    short_message: { udh: Buffer.from([5, 0, 3, 77, 2, i + 1]), message: text } }));
}

function deliver(session, fields) {
  session.deliver_sm(fields, (resp) => say({ event: 'taken', status: resp.command_status }));
}

server.listen(0, '127.0.0.1', () => say({ event: 'port', port: server.address().port }));
process.stdin.on('end', () => process.exit(0)).resume();
