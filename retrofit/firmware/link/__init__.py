"""The link to a live board: frames, the words of the protocol, the conversation, and the serial port."""
