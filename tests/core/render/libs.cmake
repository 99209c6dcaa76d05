set(extra opencv_core opencv_imgproc)
