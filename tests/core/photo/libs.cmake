set(extra JPEG::JPEG PNG::PNG)
