"""Markers, pieces and pictures as the page in the browser draws them."""
