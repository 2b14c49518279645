"""Reads the terminal's keys; Esc is answered as soon as it is known to stand alone."""

from __future__ import annotations

import os
import selectors
from codecs import getincrementaldecoder

from textual import constants
from textual._xterm_parser import XTermParser
from textual.drivers.linux_driver import LinuxDriver

# How often it is looked whether the program has ended [s].
IDLE_S = 0.1
# A wait may end a little before its time [s].
SURELY_S = 0.001


class PromptDriver(LinuxDriver):
    """The toolkit's driver, which alone looks only a tenth of a second after Esc what followed."""

    def run_input_thread(self) -> None:
        """Wait for input, and for the end of what may be the beginning of a key's bytes."""
        parser = XTermParser(self._debug)
        decode = getincrementaldecoder("utf-8")("replace").decode
        with selectors.SelectSelector() as selector:
            selector.register(self.fileno, selectors.EVENT_READ)
            wait_s = IDLE_S
            while not self.exit_event.is_set():
                came = b""
                if selector.select(wait_s) and not (came := os.read(self.fileno, 4096)):
                    return  # the terminal is gone
                if text := decode(came):
                    for message in parser.feed(text):
                        self.process_message(message)
                for message in parser.tick():
                    self.process_message(message)
                wait_s = constants.ESCAPE_DELAY + SURELY_S if came else IDLE_S
