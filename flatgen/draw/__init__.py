"""Model to drawings; knows no file format."""
