"""Line drawings as SVG: parts, exploded assembly, faces and a cut; numbers only, no display."""
