"""The part as a printer wants it: compensated, laid flat; the fit coupon."""
