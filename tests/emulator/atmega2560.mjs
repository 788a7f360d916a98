/* The ATmega2560: register addresses, interrupt vectors and memory sizes.
 *
 * Source of every address and vector: the ATmega640/1280/1281/2560/2561 data sheet (Atmel 2549), register summary and
 * table of reset and interrupt vectors; vectors are counted in words, two words each.
 */
import { ADCMuxInputType, ADCReference } from 'avr8js';

import { eightBitTimer, sixteenBitTimer, threeRegisters } from './layouts.mjs';

const singleEnded = (channel) => ({ type: ADCMuxInputType.SingleEnded, channel });
const MUX_CHANNELS = {};
/* The pin of each channel (table of alternate functions of ports F and K). */
const CONVERTER_PINS = [];
for (let channel = 0; channel < 8; channel += 1) {
  MUX_CHANNELS[channel] = singleEnded(channel);
  MUX_CHANNELS[0x20 + channel] = singleEnded(8 + channel);
  CONVERTER_PINS[channel] = ['F', channel];
  CONVERTER_PINS[8 + channel] = ['K', channel];
}

export const ATMEGA2560 = {
  programWords: 0x20000,
  ramFirst: 0x200,
  ramLast: 0x21ff,
  eepromBytes: 4096,
  ports: threeRegisters({
    A: 0x20, B: 0x23, C: 0x26, D: 0x29, E: 0x2c, F: 0x2f, G: 0x32, H: 0x100, J: 0x103, K: 0x106, L: 0x109,
  }),
  pinChange: {
    K: { PCIE: 2, PCICR: 0x68, PCIFR: 0x3b, PCMSK: 0x6d, pinChangeInterrupt: 0x16, mask: 0xff, offset: 0 },
  },
  spi: { spiInterrupt: 0x30, SPCR: 0x4c, SPSR: 0x4d, SPDR: 0x4e },
  midiSerial: {
    rxVector: 0x48, udreVector: 0x4a, txcVector: 0x4c,
    UCSRA: 0xc8, UCSRB: 0xc9, UCSRC: 0xca, UBRRL: 0xcc, UBRRH: 0xcd, UDR: 0xce,
  },
  linkSerial: {
    rxVector: 0x32, udreVector: 0x34, txcVector: 0x36,
    UCSRA: 0xc0, UCSRB: 0xc1, UCSRC: 0xc2, UBRRL: 0xc4, UBRRH: 0xc5, UDR: 0xc6,
  },
  twi: { twiInterrupt: 0x4e, TWBR: 0xb8, TWSR: 0xb9, TWAR: 0xba, TWDR: 0xbb, TWCR: 0xbc, TWAMR: 0xbd },
  timers: [
    eightBitTimer(0x2a),
    sixteenBitTimer(1, 0x80, 0x36, 0x6f, 0x20),
    sixteenBitTimer(3, 0x90, 0x38, 0x71, 0x3e),
    sixteenBitTimer(4, 0xa0, 0x39, 0x72, 0x52),
    sixteenBitTimer(5, 0x120, 0x3a, 0x73, 0x5c),
  ],
  converter: {
    ADMUX: 0x7c, ADCSRA: 0x7a, ADCSRB: 0x7b, ADCL: 0x78, ADCH: 0x79, DIDR0: 0x7e, adcInterrupt: 0x3a,
    numChannels: 16, muxInputMask: 0x3f, muxChannels: MUX_CHANNELS,
    adcReferences: [ADCReference.AREF, ADCReference.AVCC, ADCReference.Internal1V1, ADCReference.Internal2V56],
  },
  converterPins: CONVERTER_PINS,
  eeprom: { eepromReadyInterrupt: 0x3c, EECR: 0x3f, EEDR: 0x40, EEARL: 0x41, EEARH: 0x42 },
  watchdogVector: 0x18,
};
