"""Lines and arcs, surfaces of triangles, distances, rays: shapes that know no nut."""
