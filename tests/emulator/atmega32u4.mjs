/* The ATmega32U4: register addresses, interrupt vectors and memory sizes.
 *
 * Source of every address and vector: the ATmega16U4/32U4 data sheet (Atmel 7766), register summary and table of reset
 * and interrupt vectors, checked against avr-libc's iom32u4.h; vectors are counted in words, two words each.  Timer 4,
 * of ten bits, is not modelled.
 */
import { ADCMuxInputType, ADCReference } from 'avr8js';

import { eightBitTimer, sixteenBitTimer, threeRegisters } from './layouts.mjs';

const singleEnded = (channel) => ({ type: ADCMuxInputType.SingleEnded, channel });
const MUX_CHANNELS = {};
for (const channel of [0, 1, 4, 5, 6, 7]) MUX_CHANNELS[channel] = singleEnded(channel);
for (let channel = 8; channel <= 13; channel += 1) MUX_CHANNELS[0x20 + channel - 8] = singleEnded(channel);
/* The pin of each channel (pin configuration). */
const CONVERTER_PINS = {
  0: ['F', 0], 1: ['F', 1], 4: ['F', 4], 5: ['F', 5], 6: ['F', 6], 7: ['F', 7],
  8: ['D', 4], 9: ['D', 6], 10: ['D', 7], 11: ['B', 4], 12: ['B', 5], 13: ['B', 6],
};

export const ATMEGA32U4 = {
  programWords: 0x4000,
  ramFirst: 0x100,
  ramLast: 0xaff,
  eepromBytes: 1024,
  ports: threeRegisters({ B: 0x23, C: 0x26, D: 0x29, E: 0x2c, F: 0x2f }),
  spi: { spiInterrupt: 0x30, SPCR: 0x4c, SPSR: 0x4d, SPDR: 0x4e },
  midiSerial: {
    rxVector: 0x32, udreVector: 0x34, txcVector: 0x36,
    UCSRA: 0xc8, UCSRB: 0xc9, UCSRC: 0xca, UBRRL: 0xcc, UBRRH: 0xcd, UDR: 0xce,
  },
  twi: { twiInterrupt: 0x48, TWBR: 0xb8, TWSR: 0xb9, TWAR: 0xba, TWDR: 0xbb, TWCR: 0xbc, TWAMR: 0xbd },
  timers: [
    eightBitTimer(0x2a),
    sixteenBitTimer(1, 0x80, 0x36, 0x6f, 0x20),
    sixteenBitTimer(3, 0x90, 0x38, 0x71, 0x3e),
  ],
  converter: {
    ADMUX: 0x7c, ADCSRA: 0x7a, ADCSRB: 0x7b, ADCL: 0x78, ADCH: 0x79, DIDR0: 0x7e, adcInterrupt: 0x3a,
    numChannels: 14, muxInputMask: 0x3f, muxChannels: MUX_CHANNELS,
    adcReferences: [ADCReference.AREF, ADCReference.AVCC, ADCReference.Reserved, ADCReference.Internal2V56],
  },
  converterPins: CONVERTER_PINS,
  /* The sixth bit of the channel's number lies elsewhere in ADCSRB than avr8js looks for it. */
  sixthMuxBit: 0x20,
  eeprom: { eepromReadyInterrupt: 0x3c, EECR: 0x3f, EEDR: 0x40, EEARL: 0x41, EEARH: 0x42 },
  watchdogVector: 0x18,
  usb: { generalVector: 0x14, endpointVector: 0x16 },
};
