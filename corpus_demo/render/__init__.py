"""Renders the demo shop's spoken scripts to real media files with exact sentence times."""
