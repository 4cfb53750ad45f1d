#include "opencv_peer.h"

#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

static std::vector<cv::Point2d> to_points(const double *xy, int n)
{
    std::vector<cv::Point2d> out;
    out.reserve((size_t)n);
    for (int i = 0; i < n; i++)
        out.emplace_back(xy[2 * i], xy[2 * i + 1]);
    return out;
}

bool opencv_homography(const double *from, const double *to, int n, double h[9])
{
    cv::Mat m = cv::findHomography(to_points(from, n), to_points(to, n), 0);
    if (m.empty())
        return false;
    for (int i = 0; i < 9; i++)
        h[i] = m.at<double>(i / 3, i % 3);
    return true;
}

bool opencv_chessboard(const uint8_t *grey, int width, int height, int columns, int rows,
                       double *out)
{
    const cv::Mat picture(height, width, CV_8UC1, const_cast<uint8_t *>(grey));
    std::vector<cv::Point2f> corners;
    if (!cv::findChessboardCorners(picture, cv::Size(columns, rows), corners))
        return false;
    cv::cornerSubPix(picture, corners, cv::Size(5, 5), cv::Size(-1, -1),
                     cv::TermCriteria(cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 50, 0.001));
    for (size_t i = 0; i < corners.size(); i++) {
        out[2 * i] = corners[i].x;
        out[2 * i + 1] = corners[i].y;
    }
    return true;
}

void opencv_undistort(double *points, int n, const double camera[9], const double k[5])
{
    std::vector<cv::Point2d> in = to_points(points, n), out;
    const cv::Mat matrix(3, 3, CV_64F, const_cast<double *>(camera));
    const cv::Mat coefficients(1, 5, CV_64F, const_cast<double *>(k));
    cv::undistortPoints(in, out, matrix, coefficients, cv::noArray(), matrix);
    for (int i = 0; i < n; i++) {
        points[2 * i] = out[i].x;
        points[2 * i + 1] = out[i].y;
    }
}
