"""Lay pattern pieces on cloth, sheets and hides."""
