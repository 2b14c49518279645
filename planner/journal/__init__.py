"""The journal: what was looked at, with which eyepiece, and what came of it."""
