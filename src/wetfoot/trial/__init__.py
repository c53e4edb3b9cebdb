"""Lay out, power, analyse and read a trial of pots on boards in blocks."""
