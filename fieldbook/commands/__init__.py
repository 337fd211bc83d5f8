"""The commands, a module for each kind: parse, call one function, print, exit."""
