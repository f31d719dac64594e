"""Bundles as zip files: written the same to the byte each time, read without trusting a byte."""
