"""Two invented consoles to try everything on."""
