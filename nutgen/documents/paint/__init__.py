"""What every page is painted with: lines and words in mm, as PDF, SVG and HTML."""
