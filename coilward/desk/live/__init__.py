"""The live page: what a night tells at a glance, served to the browsers on this machine."""
