"""Drawings: boards as SVG and on matplotlib axes, and pictures of studies."""
