"""Pens to begin with: for formats that know curves and texts, and nothing of dimensions."""

from abc import ABC, abstractmethod

from flatgen.page.drawing import Arc, Circle, Contour, Curve, Line, LinearDimension, OrdinateDimension, Raster, Text


class StrokePen(ABC):
    """A pen that draws every curve by its runs; dimensions come as their strokes."""

    @abstractmethod
    def curve(self, item: Curve) -> None:
        """Draw a curve."""

    @abstractmethod
    def text(self, item: Text) -> None:
        """Set a line of text."""

    def line(self, item: Line) -> None:
        """A line is a curve."""
        self.curve(item)

    def arc(self, item: Arc) -> None:
        """An arc is a curve."""
        self.curve(item)

    def circle(self, item: Circle) -> None:
        """A circle is a curve."""
        self.curve(item)

    def contour(self, item: Contour) -> None:
        """A contour is a curve."""
        self.curve(item)

    def raster(self, item: Raster) -> None:
        """A photograph is left out where a format shows none."""
        del item

    def linear(self, item: LinearDimension) -> None:
        """Lines, arrows and text."""
        for stroke in item.strokes():
            stroke.onto(self)

    def ordinate(self, item: OrdinateDimension) -> None:
        """Lines and text."""
        for stroke in item.strokes():
            stroke.onto(self)
