# A short message center over Net::SMPP, for the tests. See README.md.
use strict;
use warnings;
use IO::Socket::INET;
use Net::SMPP;
use JSON::PP;

$| = 1;
sub say_json { print JSON::PP->new->canonical->encode({@_}), "\n" }

my $free = IO::Socket::INET->new(Listen => 1, LocalAddr => '127.0.0.1', LocalPort => 0) or die "no port: $!";
my $port = $free->sockport;
close $free;
my $listener = Net::SMPP->new_listen('127.0.0.1', port => $port) or die "cannot listen: $!";
say_json(event => 'port', port => $port + 0);

my $smpp = $listener->accept or die "no client";
my $count = 0;
while (my $pdu = $smpp->read_pdu()) {
    my $cmd = $pdu->{cmd};
    if ($cmd == 0x00000009) {
        $smpp->set_version(0x34);
        say_json(event => 'bind', system_id => $pdu->{system_id}, ok => JSON::PP::true);
        $smpp->bind_transceiver_resp(system_id => 'perlcenter', seq => $pdu->{seq});
    } elsif ($cmd == 0x00000004) {
        my $id = 'p' . ++$count;
        say_json(event => 'submit', id => $id, to => $pdu->{destination_addr}, coding => $pdu->{data_coding} + 0,
            esm => $pdu->{esm_class} + 0, hex => unpack('H*', $pdu->{short_message}));
        $smpp->submit_sm_resp(message_id => $id, seq => $pdu->{seq});
    } elsif ($cmd == 0x00000003) {
        $smpp->query_sm_resp(message_id => $pdu->{message_id}, final_date => '', message_state => 2,
            error_code => 0, seq => $pdu->{seq});
    } elsif ($cmd == 0x00000015) {
        $smpp->enquire_link_resp(seq => $pdu->{seq});
    } elsif ($cmd == 0x00000006) {
        $smpp->unbind_resp(seq => $pdu->{seq});
        say_json(event => 'unbind');
        last;
    }
}
