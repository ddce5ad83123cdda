"""The part as a printer wants it: compensated, laid flat, slots carved into its mesh; the fit coupon."""
