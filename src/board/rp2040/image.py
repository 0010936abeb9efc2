"""What the linker can't do for the firmware.

image.py boot2 BOOT2.bin OUT.bin   the boot stage filled up to 252 bytes, with the CRC that the chip's boot ROM checks
image.py uf2 IMAGE.bin OUT.uf2     a flash image as a file that is copied onto the chip's USB drive

CRC: RP2040 datasheet 2.8.1.3.1 (polynomial 0x04C11DB7, start 0xFFFFFFFF, most significant bit first, no reflection, no final
exclusive-or). UF2: the format's public description, github.com/microsoft/uf2.
"""
import struct
import sys
from pathlib import Path

FLASH = 0x10000000
FAMILY_RP2040 = 0xE48BFF56
PAYLOAD = 256


def crc32(data):
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte << 24
        for _ in range(8):
            crc = (crc << 1 ^ 0x04C11DB7 if crc & 0x80000000 else crc << 1) & 0xFFFFFFFF
    return crc


def boot2(code):
    if len(code) > 252:
        sys.exit(f"The boot stage takes {len(code)} bytes; 252 is the most. Shorten boot2.S.")
    code = code.ljust(252, b"\0")
    return code + struct.pack("<I", crc32(code))


def uf2(image):
    blocks = [image[i:i + PAYLOAD].ljust(PAYLOAD, b"\0") for i in range(0, len(image), PAYLOAD)]
    out = b""
    for number, data in enumerate(blocks):
        head = struct.pack("<8I", 0x0A324655, 0x9E5D5157, 0x2000, FLASH + number * PAYLOAD, PAYLOAD, number, len(blocks), FAMILY_RP2040)
        out += head + data.ljust(476, b"\0") + struct.pack("<I", 0x0AB16F30)
    return out


if __name__ == "__main__":
    if len(sys.argv) != 4 or sys.argv[1] not in ("boot2", "uf2"):
        sys.exit(__doc__)
    make = boot2 if sys.argv[1] == "boot2" else uf2
    Path(sys.argv[3]).write_bytes(make(Path(sys.argv[2]).read_bytes()))
