"""When a propeller can be ready: shop calendar, queue, forecast, calibration and plan; pure computation."""
