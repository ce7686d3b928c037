module barwright

go 1.26.0
