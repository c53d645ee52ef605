"""The program's version, for files that say what made them."""

VERSION = "0.1.0"
