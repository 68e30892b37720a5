"""A store that speaks S3 and was not written by us (moto), on a port of its own: says its address, and stays until its input ends."""

import sys
import urllib.request

from moto.server import ThreadedMotoServer

server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
server.start()
address = "http://%s:%d" % server.get_host_and_port()
urllib.request.urlopen(urllib.request.Request(f"{address}/{sys.argv[1]}", method="PUT")).close()
print(address, flush=True)
sys.stdin.read()
server.stop()
