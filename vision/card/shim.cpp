#include "shim.h"

#include "tag36h11.h"

#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include <new>

namespace
{

/* Built from our own table rather than OpenCV's, whose 36h11 patterns stand upside down in some
 * versions and not in others. */
cv::Ptr<cv::aruco::Dictionary> make_dictionary(int id_count)
{
    const int side = 6;
    cv::Mat bytes;
    for (int id = 0; id < id_count; id++) {
        cv::Mat bits(side, side, CV_8UC1);
        for (int row = 0; row < side; row++)
            for (int column = 0; column < side; column++)
                bits.at<uchar>(row, column) =
                    tag36h11_cell_is_white(id, row + 2, column + 2) ? 1 : 0;
        bytes.push_back(cv::aruco::Dictionary::getByteListFromBits(bits));
    }
    const int correctable_bits = 5; /* minimum distance of the family is 11 */
    return cv::makePtr<cv::aruco::Dictionary>(bytes, side, correctable_bits);
}

/* Photos run in parallel, one thread each. OpenCV's switch is not safe to throw from two threads at
 * once, so the first to come throws it for all. */
void use_one_thread()
{
    static const bool once = [] {
        cv::setNumThreads(1);
        return true;
    }();
    (void)once;
}

/* What the exception says that is being caught. Lack of memory comes by two ways: from OpenCV's own
 * pictures and from the standard library's lists. */
enum shim_status why_thrown()
{
    try {
        throw;
    } catch (const std::bad_alloc &) {
        return SHIM_NO_MEMORY;
    } catch (const cv::Exception &thrown) {
        return thrown.code == cv::Error::StsNoMem ? SHIM_NO_MEMORY : SHIM_FAILED;
    } catch (...) {
        return SHIM_FAILED;
    }
}

} // namespace

enum shim_status shim_find_markers(const uint8_t *grey, int width, int height, size_t stride,
                                   struct shim_windows windows, int id_count,
                                   struct shim_marker *out, int cap, int *n)
{
    *n = 0;
    try {
        use_one_thread();
        const cv::Mat picture(height, width, CV_8UC1, const_cast<uint8_t *>(grey), stride);
        std::vector<std::vector<cv::Point2f>> corners;
        std::vector<int> ids;
        auto parameters = cv::makePtr<cv::aruco::DetectorParameters>();
        parameters->adaptiveThreshWinSizeMin = windows.smallest_px;
        parameters->adaptiveThreshWinSizeMax = windows.largest_px;
        parameters->adaptiveThreshWinSizeStep = 10;
        parameters->minMarkerPerimeterRate = 0.025;
        /* else the outline of the white quiet zone drives out that of the black square; one id may
         * then come back twice */
        parameters->minMarkerDistanceRate = 0.01;
        cv::aruco::detectMarkers(picture, make_dictionary(id_count), corners, ids, parameters);
        for (size_t i = 0; i < ids.size() && i < (size_t)cap; i++) {
            out[i].id = ids[i];
            for (int k = 0; k < 4; k++) {
                out[i].x[k] = corners[i][k].x;
                out[i].y[k] = corners[i][k].y;
            }
        }
        *n = (int)ids.size();
        return *n > cap ? SHIM_FULL : SHIM_OK;
    } catch (...) {
        return why_thrown();
    }
}

enum shim_status shim_calibrate(const double *mm, const double *px, const int *counts, int views,
                                int width, int height, bool k2, struct shim_camera *out,
                                double *pose)
{
    try {
        use_one_thread();
        std::vector<std::vector<cv::Point3f>> cards((size_t)views);
        std::vector<std::vector<cv::Point2f>> pictures((size_t)views);
        for (int i = 0; i < views; i++)
            for (int k = 0; k < counts[i]; k++, mm += 2, px += 2) {
                cards[i].emplace_back((float)mm[0], (float)mm[1], 0.0F);
                pictures[i].emplace_back((float)px[0], (float)px[1]);
            }
        const int flags = cv::CALIB_FIX_ASPECT_RATIO | (k2 ? 0 : cv::CALIB_FIX_K2) |
                          cv::CALIB_ZERO_TANGENT_DIST | cv::CALIB_FIX_K3;
        cv::Mat camera = cv::Mat::eye(3, 3, CV_64F), k = cv::Mat::zeros(1, 5, CV_64F);
        std::vector<cv::Mat> turns, places;
        cv::calibrateCamera(
            cards, pictures, cv::Size(width, height), camera, k, turns, places, flags,
            cv::TermCriteria(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 100, 1e-12));
        *out = {camera.at<double>(0, 0), camera.at<double>(0, 2), camera.at<double>(1, 2),
                k.at<double>(0), k.at<double>(1)};
        for (int i = 0; i < views; i++)
            for (int j = 0; j < 3; j++) {
                pose[6 * i + j] = turns[i].at<double>(j);
                pose[6 * i + 3 + j] = places[i].at<double>(j);
            }
        return SHIM_OK;
    } catch (...) {
        return why_thrown();
    }
}

enum shim_status shim_find_circles(const uint8_t *grey, int width, int height, size_t stride,
                                   double least_px, double most_px, struct shim_circle *out,
                                   int cap, int *n)
{
    *n = 0;
    try {
        const double blur_px = 1.5, grid = 1.5, edge = 40, votes = 14;
        const cv::Mat picture(height, width, CV_8UC1, const_cast<uint8_t *>(grey), stride);
        cv::Mat soft;
        std::vector<cv::Vec3f> circles;
        use_one_thread();
        cv::GaussianBlur(picture, soft, cv::Size(0, 0), blur_px);
        cv::HoughCircles(soft, circles, cv::HOUGH_GRADIENT, grid, 1.5 * least_px, edge, votes,
                         (int)least_px, (int)most_px);
        *n = (int)circles.size();
        for (int i = 0; i < *n && i < cap; i++)
            out[i] = {circles[(size_t)i][0], circles[(size_t)i][1], circles[(size_t)i][2]};
        return *n > cap ? SHIM_FULL : SHIM_OK;
    } catch (...) {
        return why_thrown();
    }
}
