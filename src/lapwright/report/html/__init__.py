"""The report as one HTML file: page, figures as SVG, style and script."""
