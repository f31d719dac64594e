"""What people and programs get to see: JSON values, text, SVG, PDF."""
