"""Plans the night: optics, eye, sky, kit, site, ephemeris, matcher, order, command line."""
