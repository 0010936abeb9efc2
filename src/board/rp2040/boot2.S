@ The second stage of the boot: 252 bytes that the chip's ROM copies to RAM, checks (the CRC in the last four of 256 is added
@ when the image is built) and runs. Datasheet 2.8.1.3.1. It sets the flash interface to the plain read command 03h, which
@ every serial flash knows (4.10.13), and starts the program at the vector table behind it. Speed doesn't matter: the program
@ copies itself to RAM and reads flash seldom.
  .syntax unified
  .cpu cortex-m0plus
  .thumb
  .section .boot2, "ax"
  .global boot2
  .thumb_func
boot2:
  ldr r0, =0x18000000     @ XIP_SSI
  movs r1, #0
  str r1, [r0, #0x08]     @ SSIENR: off while it is set up
  movs r1, #4
  str r1, [r0, #0x14]     @ BAUDR: clk_sys / 4, 31 MHz of the 33 that 03h may have
  ldr r1, =0x001F0300     @ CTRLR0: standard SPI, 32 clocks of data, "EEPROM read" (command, address, then data)
  str r1, [r0, #0x00]
  ldr r1, =0x03000218     @ SPI_CTRLR0: command 03h, 8 bits of command, 24 of address
  movs r2, #0xF4
  str r1, [r0, r2]
  movs r1, #0
  str r1, [r0, #0x04]     @ CTRLR1: one word a read
  movs r1, #1
  str r1, [r0, #0x08]     @ SSIENR: on
  ldr r0, =0x10000100     @ the vector table
  ldr r1, =0xE000ED08     @ VTOR
  str r0, [r1]
  ldmia r0!, {r1, r2}
  msr msp, r1
  bx r2
  .align 2
  .ltorg
