@ From reset to main(): copies the program to RAM, clears what starts as zero, runs constructors. In flash; the rest is not.
  .syntax unified
  .cpu cortex-m0plus
  .thumb

  .section .boot2, "a"
  .incbin "boot2_checked.bin"

  .section .start, "ax"
  .word stack_top         @ the table that boot2 and a debugger start from: stack, reset, NMI, hard fault
  .word reset
  .word halt
  .word halt

  .global reset
  .thumb_func
reset:
  ldr r0, =image_in_flash
  ldr r1, =image_start
  ldr r2, =image_end
copy:
  cmp r1, r2
  bhs clear_start
  ldmia r0!, {r3}
  stmia r1!, {r3}
  b copy
clear_start:
  ldr r1, =bss_start
  ldr r2, =bss_end
  movs r3, #0
clear:
  cmp r1, r2
  bhs construct_start
  stmia r1!, {r3}
  b clear
construct_start:
  ldr r0, =vectors
  ldr r1, =0xE000ED08     @ VTOR: from here on vectors in RAM
  str r0, [r1]
  ldr r4, =constructors_start
  ldr r5, =constructors_end
construct:
  cmp r4, r5
  bhs run
  ldmia r4!, {r0}
  blx r0
  b construct
run:
  ldr r0, =main
  blx r0
  .thumb_func
halt:
  b halt                  @ the watchdog resets the chip, and a reset board keeps its outputs silent
  .align 2
  .ltorg

  .section .vectors, "a"
  .align 8
  .global vectors
vectors:
  .word stack_top
  .word reset
  .rept 14
  .word halt_in_ram
  .endr
  .word on_timer          @ 0 TIMER_IRQ_0 (datasheet 2.3.2)
  .rept 4
  .word halt_in_ram
  .endr
  .word on_usb            @ 5 USBCTRL
  .rept 14
  .word halt_in_ram
  .endr
  .word on_upstream       @ 20 UART0
  .word on_downstream     @ 21 UART1
  .rept 10
  .word halt_in_ram
  .endr

  .section .text.halt, "ax"
  .thumb_func
halt_in_ram:
  b halt_in_ram
