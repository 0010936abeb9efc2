#!/usr/bin/env python3
"""Decodes bytes captured from the wire: decode.py [FILE], standard input without one.

Written from src/wire/PROTOCOL.md alone, in another language than the program, so that a mistake on that page or in the
program shows as a difference. Prints one JSON object a line for every packet, and for everything dropped.
"""
import json
import sys

VERSION = 2
LONGEST_STUFFED = 251
OUTPUTS, BLOCKS, RAILS, FIRMWARE, LINES, INPUTS, CHANNELS = 16, 8, 8, 24, 16, 16, 8

STATES = ["unconfigured", "ready", "waiting", "running", "holding", "ramping", "disarming"]
PHASES = ["off", "waiting", "coming", "living", "clip", "show"]
CHUNK = 128


class Malformed(Exception):
    pass


def crc16(data):
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = (crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1
            crc &= 0xFFFF
    return crc


def unstuff(data):
    out, at = bytearray(), 0
    while at < len(data):
        code = data[at]
        piece = data[at + 1:at + code]
        if code == 0 or 0 in piece or len(piece) != code - 1:
            raise Malformed("bad COBS")
        out += piece
        at += code
        if code != 0xFF and at < len(data):
            out.append(0)
    return bytes(out)


class Fields:
    """Little-endian numbers from the front of a packet; every read is checked."""

    def __init__(self, data):
        self.data, self.at = data, 0

    def take(self, size):
        if self.at + size > len(self.data):
            raise Malformed("too short")
        self.at += size
        return self.data[self.at - size:self.at]

    def number(self, size):
        return int.from_bytes(self.take(size), "little")

    def u8(self, at_most=0xFF):
        value = self.number(1)
        if value > at_most:
            raise Malformed("value out of range")
        return value

    def u16(self):
        return self.number(2)

    def u32(self):
        return self.number(4)

    def state(self):
        return STATES[self.u8(len(STATES) - 1)]

    def left(self):
        return len(self.data) - self.at


def hello(f):
    what = f.u8(2)
    return {"assign": what == 1, "release": what == 2}


def configure(f):
    flags = f.u8(3)
    body = {"first": bool(flags & 1), "last": bool(flags & 2),
            "hold_ms": f.u16(), "ramp_ms": f.u16(), "release_ms": f.u16()}
    body["outputs"] = [{"output": f.u8(), "min": f.u16(), "max": f.u16(), "rest": f.u16(), "slew": f.u32()}
                       for _ in range(f.u8(OUTPUTS))]
    body["timings"] = [{"output": f.u8(), "period_us": f.u16(), "phase_us": f.u16()} for _ in range(f.u8(OUTPUTS))]
    body["channels"] = [{"channel": f.u8(), "kind": f.u8(), "line": f.u8(), "rest": f.u8(), "lines": f.u8(), "order": f.u8(),
                         "strobe": f.u8(), "settle_ms": f.u16(), "rail": f.u8(), "draw_ma": f.u16(), "on_ma": f.u16(),
                         "off_ma": f.u16(), "smooth_s": f.u8()} for _ in range(f.u8(CHANNELS))]
    return body


def order(_):
    return {}


def heartbeat(f):
    return {"host_us": f.u32()}


def clock(f):
    body = {"board_us": f.u32(), "offset_us": f.u32(), "rate_ppb": int.from_bytes(f.take(4), "little", signed=True)}
    if abs(body["rate_ppb"]) > 10_000_000:
        raise Malformed("value out of range")
    return body


def frame(f):
    body = {"sequence": f.u16(), "latch_us": f.u32(), "blocks": []}
    blocks = {}
    while f.left():
        address = f.u8()
        mask = f.u16()
        block = blocks.setdefault(address, {"address": address, "pulses": {}, "values": {}})
        part = "pulses" if mask else "values"
        bits = mask or f.u8()
        if bits == 0 or block[part]:
            raise Malformed("empty block, or two of a kind for one board")
        for n in range(16):
            if bits >> n & 1:
                block[part][str(n)] = f.u16() if mask else f.u8()
        if 0 in block["pulses"].values():
            raise Malformed("pulse 0")
    if len(blocks) > BLOCKS:
        raise Malformed("too many boards")
    body["blocks"] = list(blocks.values())
    return body


def description(f):
    body = {"newest_version": f.u8(), "identity": "%016X" % f.number(8), "outputs": f.u8(OUTPUTS), "rails": f.u8(RAILS),
            "lines": f.u8(LINES), "inputs": f.u8(INPUTS), "outputs_per_timer": f.u8(2), "start": f.u8(3), "state": f.state(), "configuration": f.u16()}
    if body["outputs_per_timer"] == 0:
        raise Malformed("value out of range")
    text = f.take(f.u8(FIRMWARE))
    if any(c < 0x20 or c > 0x7E for c in text):
        raise Malformed("firmware text not printable")
    body["firmware"] = text.decode("ascii")
    return body


def acknowledgement(f):
    body = {"of": f.u8(), "state": f.state(), "sequence": f.u16()}
    for name in ["host_us", "received_us", "sent_us", "latched", "late", "stale", "bad", "clamped", "slewed", "refused",
                 "unrelayed"]:
        body[name] = f.u32()
    return body


def state_report(f):
    body = {"state": f.state(), "sequence": f.u16(), "known": f.u16(), "driven": f.u16()}
    body["pulse"] = [f.u16() for _ in range(f.u8(OUTPUTS))]
    body["rails"] = [{"voltage_mv": f.u16(), "current_ma": f.u16()} for _ in range(f.u8(RAILS))]
    body["inputs"], body["faults"] = f.u16(), f.u8()
    return body


def refusal(f):
    return {"of": f.u8(), "reason": f.u8(), "detail": f.u8()}


def store_begin(f):
    return {"size": f.number(4)}


def store_chunk(f):
    body = {"offset": f.number(4)}
    count = f.u8(CHUNK)
    if count == 0:
        raise Malformed("empty chunk")
    body["bytes"] = f.take(count).hex(" ").upper()
    return body


def store_commit(f):
    return {"crc": f.u16()}


def lead(f):
    return {"bake": f.number(4), "phase": PHASES[f.u8(len(PHASES) - 1)], "track": f.u8(), "tick": f.number(4)}


def playback(f):
    body = {"fault": f.u8(6), "phase": PHASES[f.u8(len(PHASES) - 1)], "track": f.u8(), "tick": f.number(4)}
    body["bake"], body["capacity"] = f.number(4), f.number(4)
    return body


FRAME, REFUSAL = 0x10, 0x84
TYPES = {0x01: ("hello", hello), 0x02: ("configure", configure), 0x03: ("arm", order), 0x04: ("disarm", order),
         0x05: ("stop", order), 0x06: ("heartbeat", heartbeat), 0x07: ("clock", clock), 0x08: ("query", order),
         FRAME: ("frame", frame), 0x81: ("description", description), 0x82: ("acknowledgement", acknowledgement),
         0x83: ("state report", state_report), REFUSAL: ("refusal", refusal),
         0x20: ("store begin", store_begin), 0x21: ("store chunk", store_chunk), 0x22: ("store commit", store_commit),
         0x23: ("ask playback", order), 0x24: ("lead", lead), 0xA0: ("playback", playback)}


def decode_packet(packet):
    f = Fields(packet)
    version, code = f.u8(), f.u8()
    name, read_body = TYPES.get(code, (None, None))
    result = {"type": name}
    if code != FRAME:
        result["address"], result["token"] = f.u8(), f.u8()
    if version != VERSION and code != REFUSAL:
        return {"other_version": version, "type": code}
    if read_body is None:
        return {"unknown_type": code}
    result.update(read_body(f))
    if f.left():
        raise Malformed("too long")
    return result


def decode_stuffed(stuffed):
    """The object for what stands between two delimiters; None for a packet that a board gave up repeating."""
    try:
        if len(stuffed) > LONGEST_STUFFED:
            raise Malformed("overlong")
        data = unstuff(stuffed)
        if len(data) < 4:
            raise Malformed("too short")
        if crc16(data) != 0:
            raise Malformed("wrong CRC")
        return decode_packet(data[:-2])
    except Malformed as trouble:
        if stuffed[-1] == 0xFF and str(trouble) in ("bad COBS", "too short"):
            return None
        return {"dropped": str(trouble)}


def main():
    capture = open(sys.argv[1], "rb").read() if len(sys.argv) > 1 else sys.stdin.buffer.read()
    for stuffed in capture.split(b"\x00")[:-1]:  # what follows the last delimiter is not complete
        result = decode_stuffed(stuffed) if stuffed else None
        if result:
            print(json.dumps(result))


if __name__ == "__main__":
    main()
