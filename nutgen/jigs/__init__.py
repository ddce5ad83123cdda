"""What holds the nut, guides the tool and stops it: printed parts with steel where teeth would reach."""
